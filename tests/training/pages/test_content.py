"""Random lines of work: canonical markup, every kind of thing, no physics."""

import numpy as np

from checker.markup import TOKENS, tokens
from checker.training.content import LONGEST, USUAL, Writer


def lines(count: int) -> list[str]:
    rng = np.random.default_rng(7)
    writers = [Writer(rng) for _ in range(count // 10)]
    return [writer.line() for writer in writers for _ in range(10)]


def test_lines_are_canonical_markup() -> None:
    for line in lines(600):
        assert "".join(tokens(line)) == line
        assert line == line.strip()
        assert line.count("{") == line.count("}")


def test_every_token_of_the_vocabulary_is_written() -> None:
    seen = {token for line in lines(6000) for token in tokens(line)}
    # Asides are drawn as such and never spelled out by the writer.
    assert set(TOKENS) - seen <= {"<aside>"}


def test_sums_are_right_and_wrong_in_like_measure() -> None:
    rng = np.random.default_rng(3)
    writer = Writer(rng)
    right = total = 0
    for _ in range(1500):
        left, _, result = writer.arithmetic().replace(",", ".").replace("≈", "=").partition("=")
        number = result.rstrip("FCVJΩAHWµunpmk")
        if "+" in left and "/" not in left:
            exact = sum(float(part) for part in left.split("+"))
            right += abs(float(number) - exact) <= 0.06 * exact
            total += 1
    assert total > 300
    assert 0.4 < right / total < 0.7


def test_some_lines_are_as_long_as_the_longest_of_people() -> None:
    """A reader that never met a long line runs wild on one."""
    rng = np.random.default_rng(5)
    lengths = np.array([len(Writer(rng).line()) for _ in range(400)])
    assert 0.05 < (lengths > USUAL).mean() < 0.2
    assert lengths.max() <= LONGEST and (lengths > 90).any()
