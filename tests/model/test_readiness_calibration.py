"""Does the fit know how much it knows?  200 made-up slabs with a known truth (seeds 0 to 199)."""

from dataclasses import dataclass

import numpy as np
import pytest

from model import spread
from tests.model.synthetic_slabs import answered, synthetic

SLABS = 200


@dataclass(frozen=True)
class Tally:
    miss: np.ndarray  # % M, fitted less true mean moisture
    ratio: np.ndarray  # fitted over true transport factor
    holds: np.ndarray  # (slabs, 3): mean moisture, factor, days until ready
    days: np.ndarray  # true days until ready; infinite where it never is


def holds(figure: spread.Figure | None, truth: float) -> bool:
    if figure is None:
        return bool(np.isinf(truth))
    assert figure.low is not None
    assert figure.high is not None
    return figure.low <= truth <= figure.high


def tally(error: float, error_is_share: bool) -> Tally:
    rows = []
    for seed in range(SLABS):
        made = synthetic(seed, error=error, error_is_share=error_is_share)
        found = answered(made)
        rows.append(
            (
                found.present.mean.value - made.mean_now,
                found.transport.value / made.factor,
                holds(found.present.mean, made.mean_now),
                holds(found.transport, made.factor),
                holds(found.ready_in, made.days_left),
                made.days_left,
            )
        )
    table = np.array(rows, dtype=float)
    return Tally(table[:, 0], table[:, 1], table[:, 2:5], table[:, 5])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("error", "error_is_share", "what", "share"),
    # In `share` of the slabs the moisture comes within 0.5 % and the factor within 25 %: with an
    # error of 1 % M ten readings cannot do better, the prior and they together know no more.
    [(1.0, False, "1 % M", 0.6), (0.01, True, "1 % of the reading", 0.8)],
)
def test_the_80_percent_intervals_hold_the_truth_in_70_to_90_percent_of_200_slabs(
    error: float, error_is_share: bool, what: str, share: float, capsys: pytest.CaptureFixture[str]
) -> None:
    found = tally(error, error_is_share)
    # A slab that is ready today, or never where it stands, has no days for a band to hold.
    waiting = np.isfinite(found.days) & (found.days > 0.5)
    covered = np.array([*found.holds[:, :2].mean(axis=0), found.holds[waiting, 2].mean()])
    slabs = np.array([SLABS, SLABS, waiting.sum()])
    miss, ratio = np.abs(found.miss), found.ratio
    near = np.mean(np.abs(ratio - 1.0) < 0.25)
    typical = np.exp(np.median(np.abs(np.log(ratio))))
    with capsys.disabled():
        print(
            f"\nten readings of error {what}: mean moisture, factor, days covered "
            f"{covered[0]:.3f}, {covered[1]:.3f}, {covered[2]:.3f}; moisture off by "
            f"{np.median(miss):.2f} % M in the median, within 0.5 in {np.mean(miss < 0.5):.2f}; "
            f"factor within 25 % in {near:.2f}, off by x/÷ {typical:.2f}"
        )
    # Three and a half binomial errors of 80 %: 70 to 90 % of 200 slabs, 68 to 92 of 144.
    assert np.all(np.abs(covered - 0.80) <= 3.5 * np.sqrt(0.16 / slabs)), covered
    assert np.mean(miss < 0.5) > share
    assert near > share
    assert np.median(miss) < 0.5
    assert typical < 1.25
    assert abs(np.median(np.log(ratio))) < 0.1  # no lean to one side
