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
    "bottom shut, faces untold, looked at": Way(shut=True, faces_told=False, looked=True),
    "zigzag of 1": Way(zigzag=1.0),
}
EARLY = 14.0  # days
# Of 200 slabs each; the errors are drawn, and a fixed fault stands beside what calibrates it.
BANDS = {
    "errors as drawn": Way(),
    "meter 1.5 low, a piece dried": Way(bias=-1.5, oven=True),
    # Every bottom shut and nothing dried beside the pins is a fixed fault: 66 of 100 (measured).
    "bottom shut, faces untold, looked at": Way(shut=True, faces_told=False, looked=True),
    "both open, faces untold": Way(faces_told=False),
    "looked at as answers ask": Way(looked=True),
}


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
@pytest.mark.parametrize("name", BANDS)
def test_the_80_percent_bands_hold_70_to_90_percent_of_200(name: str) -> None:
    way = BANDS[name]
    held = []
    for seed in range(200):
        made = told(seed, way)
        mean = answered(made).present.mean
        assert mean.low is not None
        assert mean.high is not None
        held.append(mean.low <= made.mean <= mean.high)
    assert 0.70 <= np.mean(held) <= 0.90


@pytest.mark.slow
def test_ready_is_said_of_slabs_that_were_looked_at_as_answers_ask() -> None:
    # One meter alone leaves its bias of 0.7 % in a band of 1: 98 % cannot be reached, and "which
    # look would tell" is the answer.  With two pieces dried and shell and middle read it can.
    made = [told(seed, Way(looked=True)) for seed in range(100)]
    found = [answered(one).verdict for one in made]
    said = [one.days_left for one, verdict in zip(made, found, strict=True) if verdict == "ready"]
    assert len(said) >= 4
    assert sum(days > EARLY for days in said) <= 2
