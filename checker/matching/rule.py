"""The decision rule of reading and judging together, and all its constants.

A page is read as a distribution: every line has several readings, and a hypothesis takes one of
them for each line, or takes the line as unread.  Its weight is the product over the lines of the
reader's probability of the reading and of how likely a student writes such a line next:

    1          it follows, or carries an earlier slip forward
    SLIP       it does not follow; by how well a kind of slip explains it
    IGNORED    it gives the right value although the student's own earlier slip would change it
    RIGHT_AFTER_WRONG  so does the result of wrong numbers in the same chain
    UNSEEN     it carries an earlier slip forward, but only through steps that are not on the page
    UNCLEAR    it cannot be understood: students write lines that can be
    NO_STATEMENT  a formula that states nothing
    NAMELESS   it goes on from a line that was not read
    UNREAD     what the reader left for texts it did not list, of which most would follow; few
               where what it did list is wrong, the fewer the less its doubt is about that

So near-equal readings are settled by what follows; a confident reading outweighs any other; a
value in doubt that later lines go on from is borne out by them, and one that later lines
contradict was misread.  The likeliest hypotheses are then judged as exact text is, in the best
order of their lines.  The normalised weights give the probability that the page is right and, for
each line, that the first slip stands there; a little of that (VAGUE) is taken off where a line
before was not read.  Then the cheapest of three is done:

    name the slip at a line   costs ``accuse`` if all is right, ``elsewhere`` if it is elsewhere
    ask one question          costs ``ask``
    let the page stand        costs ``miss`` if there is a slip

accuse >> miss > ask > 0.  Probabilities of slips are assumptions; the costs and the other constants
are set on invented pages of the development seeds (``python -m checker.benchmarks.judging
--first-seed 1`` and ``--curve``): after training a reader anew, measure its confusions
(``python -m checker.training.confusions``) and repeat that.

The constants are near the likeliest for 350 clean and 350 slipped pages of the development seeds
(3000 to 3349, 2 % of characters misread): fitted to them they are no better on others.  ``accuse``
was measured on 956 and 956 more (81000 on, 82000 on, 85000 to 85799), each misread as one photo in
a hand that the reader had not met:

    accuse            2     3     4     5     6     8
    clean accused     0     0     0     0     0     0   pages
    slips located  93.1  90.6  90.1  89.0  87.4  86.9   %

That was with SLIP_OF_SCALE = 1/500; with 1/250, nearer what they are among the invented slips, 4
of 162 slips more are located and 1 fewer (86000 to 86360), and no clean page is accused.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Costs:
    """What the three things that can be done about a page cost where they are out of place."""

    accuse: float = 5.0
    elsewhere: float = 3.0
    ask: float = 1.0
    miss: float = 3.0


COSTS = Costs()

SLIP_BY_RULE = 1 / 75  # a wrong rule gives the value, from the operands written
SLIP_HINTED = 1 / 350  # a wrong rule gives the value, but from other operands
SLIP_OF_SCALE = 1 / 250  # the same number with another prefix, power or unit
SLIP_AGAIN = 0.3  # by the same rule for another element in the same line
SLIP_OF_PEN = 1 / 3000  # a digit differs: a misread character looks the same
SLIP_UNEXPLAINED = 1 / 5000
SLIP_SENSELESS = 1 / 1_000_000  # the same of labels: those that make no sense are mostly misread
SLIP_OF_LABELS = 1 / 30_000  # wrong labels over numbers that are right for others
EXPLAINED, HINTED = 0.45, 0.15  # scores of a diagnosis
OF_FORM = frozenset(  # kinds that are recognised by their form, as sure as those with a rule
    ("prefixes-mixed", "product-over-sum-misused", "sum-over-product")
)
OF_SCALE = frozenset(("prefix", "power-of-ten", "decimal-point", "unit-kind", "digits-swapped"))
EASILY_MATCHED = frozenset(  # by a rule, but a misread label or operator gives it too
    ("label-swapped", "wrong-equivalent-used", "shared-equally")
)
SLIP_BEFORE_EXPLANATION = 1 / 700  # until a diagnosis is made
IGNORED = 0.05
RIGHT_AFTER_WRONG = 0.002  # the same of a result right after wrong numbers: they were misread
IGNORED_OF_SCALE = 0.5  # the same after a wrong prefix, power or unit
IGNORED_AGAIN = 0.9  # the same of a further line
VAGUE = {True: 0.005, False: 0.04}  # that a slip (by rule or not) after an unread line is none
VAGUE_NEXT = 0.3  # the same for one not by rule right after that line, from which it may come
VAGUE_DOUBTFUL = 0.5  # the same for a value that rounding alone may give as well
# That a slip not by rule is none, for each other line that was not read as it stands there, where
# at most one line goes on from it: three are enough to ask.
VAGUE_AMONG_MISREAD = 0.09
UNSEEN = 0.05  # that what is carried forward comes through steps that are not on the page
UNCLEAR = 0.003
NO_STATEMENT = 0.006
NAMELESS = 0.03  # "= 16.7 nF" where what it is about stands in a line that was not read
UNREAD = 0.3
UNREAD_IF_WRONG = 0.006  # the same where nothing listed follows: the rest seldom does either
LEAST_DOUBT = 0.2  # share of it where the reader's doubt is all about what comes later in the line
UNREAD_IF_PERHAPS_WRONG = 0.15  # where the first reading is no working at all

NEVER = 1e-12  # instead of a probability of 0, which has no logarithm
SURE = 0.9999  # a reading this probable has no alternatives (typed pages)
OUTRIGHT = 0.001  # how often a token is misread with no doubt shown; least rest of a line
SAME_SWAP = 0.4  # odds that a sign is misread where the same one was before on the page
UNLISTED = 0.3  # least share of the doubt about the first reading that is left for others unlisted
LISTED_REST = 0.8  # share of the rest that look-alikes of a single reading can explain
LEAST = 0.006  # readings less likely than this are not looked at one by one
MOST_READINGS = 6
# The budget of a page, in counts, not in time, so that every verdict repeats exactly.
# Sides of chains, judged for one meaning each, before only the likeliest rivals are followed.
MOST_SIDES = 1600
SHARE = 3  # what one line may take of that, in shares of all that are left
LIKELY = 0.005  # readings of a line that are tried with the best hypothesis whatever that takes
MOST_HYPOTHESES = 8
MOST_RIVALS = 3  # that are followed further whatever that takes
MOST_BESIDE = 3  # of those with the slips on the same lines
HOPELESS = 1e-5  # weight, compared with the best hypothesis, at which one is given up
NEGLIGIBLE = 4e-3  # the same, at which it is not judged in every order of the lines
MOST_LOOK_ALIKES = 24  # of a wrong line, likeliest first
LEAST_LOOK_ALIKES = 6  # the same, whatever was tried before
MOST_JUDGED = 5  # hypotheses that are judged in every order of the lines
MOST_MENDED = 2  # of those, the ones for which look-alikes of single characters are tried
