"""Diagnosis on histories whose truth comes from a solver of the tests' own."""

from __future__ import annotations

from collections import Counter

import pytest

from model.answers.diagnosis.diagnose import diagnose
from model.answers.diagnosis.stories import CAUSES
from tests.reference.own_histories import truth

EACH = 7


@pytest.mark.slow
def test_makers_histories_are_told_right_or_withheld(capsys: pytest.CaptureFixture[str]) -> None:
    rows, sure, sure_right = {cause: Counter[str]() for cause in CAUSES}, 0, 0
    known, known_right, whole = 0, 0, Counter[str]()
    for cause in CAUSES:
        for seed in range(EACH):
            told = truth(cause, seed).history
            found = diagnose(told)
            right = found.chances[0].cause == cause
            wrongly = found.main is not None and found.main != cause
            rows[cause]["right"] += right
            rows[cause]["confidently wrong"] += wrongly
            rows[cause]["withheld"] += found.main is None
            if found.chances[0].chance >= 0.95:
                sure, sure_right = sure + 1, sure_right + right
            if told.slab.bark_known:
                known, known_right = known + 1, known_right + right
    for one in rows.values():
        whole += one
    count = EACH * len(CAUSES)
    with capsys.disabled():
        print()
        for cause, one in rows.items():
            print(f"{cause:20} of {EACH}: {dict(one)}")
        print(f"all {count}: {dict(whole)}; bark side told: {known_right} of {known} right; "
              f"95 % sure: {sure_right} of {sure} right")  # fmt: skip
    assert whole["right"] >= 0.5 * count
    assert whole["confidently wrong"] <= 0.05 * count
    assert known_right >= 0.6 * known
    assert sure_right >= 0.9 * sure
