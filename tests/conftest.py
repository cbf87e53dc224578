from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True)
def shared_bytes_are_whole() -> Iterator[None]:
    """See ``checker.exact.rational``: whoever reads a text with ``Fraction`` changes these."""
    yield
    assert [bytes([byte])[0] for byte in range(256)] == list(range(256))
