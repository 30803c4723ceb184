"""What is said beside figures: codes that compare, and refusals that read."""

from __future__ import annotations

import pytest

from model.codes import Caution, Note, Reason, Refusal, Said


@pytest.mark.parametrize("kind", [Note, Caution, Reason, Said])
def test_a_code_with_like_figures_is_the_same(kind: type[Said]) -> None:
    one, same, other = kind("dry", by=0.5), kind("dry", by=0.5), kind("dry", by=0.6)
    assert one == same
    assert one != other
    assert len({one, same, other}) == 2
    assert one.figures == {"by": 0.5}
    assert (one.code, one.told) == ("dry", (("by", 0.5),))
    assert kind("dry").figures == {}


def test_a_refusal_tells_its_code_and_figures() -> None:
    refused = Refusal("heats-above-cooling", heat_to=25.0, cool_to=20.0)
    assert str(refused) == "heats-above-cooling: heat_to 25.0, cool_to 20.0"
    assert refused.said.figures == {"heat_to": 25.0, "cool_to": 20.0}
    assert str(Refusal("alone")) == "alone"
    assert isinstance(refused, ValueError)
