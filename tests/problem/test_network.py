"""Networks as trees, and the written form of a connection."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.errors import ProblemError
from checker.problem.connection import parse_connection, write_connection
from checker.problem.network import (
    Element,
    Parallel,
    Series,
    elements,
    groups,
    in_order,
    name_of,
    nodes,
    parallel,
    series,
)
from tests.problem.random_networks import random_network

A, B, C, D = (Element(name) for name in "ABCD")


def test_inner_groups_of_the_same_kind_are_merged():
    assert series(A, series(B, C)) == Series((A, B, C))
    assert parallel(parallel(A, B), series(C, D)) == Parallel((A, B, Series((C, D))))
    assert series(A) == A


@pytest.mark.parametrize("members", [(A,), (A, Series((B, C)))])
def test_a_group_that_is_not_normalised_cannot_be_made(members):
    with pytest.raises(ValueError, match="a group"):
        Series(members)


def test_names_in_order():
    network = parallel(series(A, B), C)
    assert elements(network) == ("A", "B", "C")
    assert name_of(network) == "A, B, C"
    assert set(nodes(network)) == {A, B, C, Series((A, B)), network}


def test_groups_are_listed_deepest_first():
    network = parallel(A, series(B, parallel(C, D)))
    assert [elements(group) for group in groups(network)] == [
        ("C", "D"),
        ("B", "C", "D"),
        ("A", "B", "C", "D"),
    ]


def test_order_of_members_follows_the_names_given():
    assert in_order(parallel(D, series(C, A), B), "ABCD") == Parallel((Series((A, C)), B, D))


@settings(max_examples=100, deadline=None)
@given(st.integers(min_value=0, max_value=10**9), st.integers(min_value=1, max_value=12))
def test_what_is_written_reads_back(seed, size):
    network = random_network(Random(seed), [f"C{n}" for n in range(1, size + 1)])
    assert parse_connection(write_connection(network)) == network


def test_spaces_do_not_matter():
    assert parse_connection(" parallel( series(C1,C2),\n C3 ) ") == parallel(
        series(Element("C1"), Element("C2")), Element("C3")
    )


FORM = ', as in "parallel(series(C1, C2), C3)".'


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "stops too early; name an element or close the group"),
        ("series(C1, ", "stops too early; name an element or close the group"),
        ("series(C1, C2", 'does not close the bracket of "series("'),
        ("series(C1 C2)", 'has "C2" where a comma or a closing bracket belongs'),
        ("series(C1, C2), C3", 'ends before ","; put everything inside one group'),
        ("series(C1, +)", 'has "+" where an element or a group belongs'),
        ("Series(C1, C2)", 'has a group "Series(...)"; groups are series(...) and parallel(...)'),
        ("series", 'has "series" without its members in brackets'),
        ("series(C1)", "has a series group of one member; give it two or leave the group out"),
        ("series(C1, " * 60, "nests more than 40 groups; write it flatter"),
    ],
)
def test_what_is_no_connection_is_refused_in_one_sentence(text, what):
    with pytest.raises(ProblemError) as caught:
        parse_connection(text)
    assert str(caught.value) == f"The connection {what}{FORM}"


@given(st.text(alphabet="CX12(), seriparal", max_size=40))
def test_any_text_is_a_connection_or_refused(text):
    try:
        network = parse_connection(text)
    except ProblemError as error:
        assert str(error).startswith("The connection ")
    else:
        assert parse_connection(write_connection(network)) == network
