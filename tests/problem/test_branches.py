"""Networks given branch by branch."""

from __future__ import annotations

from random import Random

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.errors import ProblemError
from checker.problem.branches import network_of
from checker.problem.network import elements, in_order
from tests.problem.random_networks import branches_of, random_network


@settings(max_examples=150, deadline=None)
@given(st.integers(min_value=0, max_value=10**9), st.integers(min_value=1, max_value=10))
def test_branches_give_back_the_network_they_were_laid_from(seed, size):
    rng = Random(seed)
    names = [f"C{n}" for n in range(1, size + 1)]
    network = random_network(rng, names)
    branches = branches_of(network)
    shuffled = {
        name: branches[name] if rng.random() < 0.5 else branches[name][::-1]
        for name in rng.sample(names, size)
    }
    found = network_of(shuffled, rng.choice([("a", "b"), ("b", "a")]))
    assert in_order(found, names) == in_order(network, names)


def _on_a_simple_path(branches, name):
    """By definition, with networkx: some path a-b that visits no node twice uses the branch."""
    graph = networkx.MultiGraph()
    for key, ends in branches.items():
        graph.add_edge(*ends, key=key)
    if not {"a", "b"} <= set(graph):
        return False
    paths = networkx.all_simple_edge_paths(graph, "a", "b")
    return any(name == key for path in paths for _a, _b, key in path)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from("abmn"), st.sampled_from("abmn")), min_size=1, max_size=7
    ).filter(lambda pairs: {"a", "b"} <= {node for pair in pairs for node in pair})
)
def test_whatever_the_branches_are_nothing_idle_passes(pairs):
    branches = {f"C{n}": ends for n, ends in enumerate(pairs, start=1)}
    idle = [name for name in branches if not _on_a_simple_path(branches, name)]
    try:
        network = network_of(branches, ("a", "b"))
    except ProblemError as error:
        if idle:
            assert str(error).startswith(f"{idle[0]} carries nothing")
        else:
            assert "no series/parallel network" in str(error)
    else:
        assert not idle
        assert sorted(elements(network)) == sorted(branches)


BRIDGE = {"C1": ("a", "m"), "C2": ("a", "n"), "C3": ("m", "n"), "C4": ("m", "b"), "C5": ("n", "b")}


@pytest.mark.parametrize(
    ("branches", "terminals", "sentence"),
    [
        (
            {"C1": ("a", "b"), "C2": ("b", "m")}, ("a", "b"),
            "C2 carries nothing, because no path from a to b runs through it; "
            "correct its nodes or take it out.",
        ),
        (
            {"C1": ("a", "b"), "C2": ("m", "m")}, ("a", "b"),
            "C2 carries nothing, because both its ends are at m; "
            "join it to two nodes or take it out.",
        ),
        (
            {"C1": ("a", "b"), "C2": ("b", "m"), "C3": ("m", "b")}, ("a", "b"),
            "C2 carries nothing, because no path from a to b runs through it; "
            "correct its nodes or take it out.",
        ),
        (
            {"C1": ("a", "m"), "C2": ("n", "b")}, ("a", "b"),
            "C1 carries nothing, because no path from a to b runs through it; "
            "correct its nodes or take it out.",
        ),
        (
            {"C1": ("a", "m")}, ("a", "b"),
            'No branch ends at the terminal "b"; correct its name or the branches.',
        ),
        (
            {"C1": ("a", "b")}, ("a", "a"),
            'Both terminals are "a", so everything is shorted; name two nodes.',
        ),
        (
            BRIDGE, ("a", "b"),
            "The branches are no series/parallel network: C1, C2, C3, C4, C5 form a bridge, which "
            "neither rule combines; give a network of series and parallel groups alone.",
        ),
    ],
)  # fmt: skip
def test_bad_branches_are_refused_in_one_sentence(branches, terminals, sentence):
    with pytest.raises(ProblemError) as caught:
        network_of(branches, terminals)
    assert str(caught.value) == sentence
