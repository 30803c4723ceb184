"""Sets of made-up slabs told with the faults makers' readings have: is Ready said too early?"""

import numpy as np
import pytest

from tests.model.told_slabs import Way, answered, told

# The fault of each set; in every one the slabs are the same 48.
SETS = {
    "errors as drawn": Way(),
    "pins at 4 mm, depth untold": Way(depth=0.004, depth_told=False),
    "weights alone": Way(weighed=True),
    "meter 1.5 low": Way(bias=-1.5),
    "bottom shut, faces untold": Way(shut=True, faces_told=False),
    "zigzag of 1": Way(zigzag=1.0),
}
EARLY = 14.0  # days


@pytest.mark.slow
@pytest.mark.parametrize("name", SETS)
def test_ready_is_said_more_than_two_weeks_early_in_at_most_one_of_48(name: str) -> None:
    made = [told(seed, SETS[name]) for seed in range(48)]
    found = [answered(one) for one in made]
    early = [
        one.days_left > EARLY
        for one, answer in zip(made, found, strict=True)
        if answer.verdict == "ready"
    ]
    assert sum(early) <= 1
    if name == "weights alone":
        assert {answer.verdict for answer in found} == {"cannot_tell"}
    if name == "zigzag of 1":
        # Up and down is scatter; it used to be called water in four of five.
        assert sum(answer.flags.rewetted is not None for answer in found) <= 3


@pytest.mark.slow
@pytest.mark.parametrize("name", ["errors as drawn", "meter 1.5 low, a piece dried"])
def test_the_80_percent_bands_hold_70_to_90_percent_of_200(name: str) -> None:
    way = Way() if name == "errors as drawn" else Way(bias=-1.5, oven=True)
    held = []
    for seed in range(200):
        made = told(seed, way)
        mean = answered(made).present.mean
        assert mean.low is not None
        assert mean.high is not None
        held.append(mean.low <= made.mean <= mean.high)
    assert 0.70 <= np.mean(held) <= 0.90
