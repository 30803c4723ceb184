"""Ways of living: each limit met and passed, each contradiction told by its code."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import pytest

from model.codes import Refusal
from model.surroundings.living import Asked, check

PLAIN = replace(
    Asked(*[None] * len(fields(Asked))),  # type: ignore[arg-type]
    balanced_ventilation=False,
    shaded=False,
    method="vapour_excess",
    kind="room",
)
BALANCE: dict[str, Any] = {
    "method": "moisture_balance", "generation": 6.0, "air_changes": 0.5, "volume": 250.0,
}  # fmt: skip


def told(**living: Any) -> dict[str, Any] | None:
    """Code and figures of the refusal of a way of living; None when it passes."""
    try:
        check(replace(PLAIN, **living))
    except Refusal as refused:
        return {"code": refused.said.code, **refused.said.figures}
    return None


@pytest.mark.parametrize(
    ("name", "low", "high", "beside"),
    [
        ("heat_to", -20.0, 60.0, {}),
        ("cool_to", -20.0, 60.0, {}),
        ("humidify_to", 1.0, 95.0, {}),
        ("dehumidify_to", 1.0, 95.0, {}),
        ("heated_share", 0.0, 1.0, {"kind": "heated_shop"}),
        (
            "dehumidifier_rated", 0.0, 1e5,
            {"dehumidify_to": 50.0, "air_changes": 0.5, "volume": 100.0},
        ),
    ],
)  # fmt: skip
def test_each_figure_has_its_limits(
    name: str, low: float, high: float, beside: dict[str, Any]
) -> None:
    for value in (low, high):
        assert told(**beside, **{name: value}) is None
    step = 1e-3 * (high - low)
    for beyond in (low - step, high + step):
        with pytest.raises(ValueError, match=f"{name} must lie within {low:g} to {high:g}"):
            check(replace(PLAIN, **beside | {name: beyond}))


@pytest.mark.parametrize(
    ("name", "wrong", "right"),
    [
        ("occupied", "often", ("no", "lightly", "normally", "crowded")),
        ("panes", "thick", ("single", "double", "double_low_e", "triple")),
        ("dehumidifier", "salt", ("compressor", "desiccant")),
        ("outer_walls", "five", ("one", "two", "two_and_door", "three")),
        ("kind", "attic", ("room", "heated_shop", "part_heated", "cellar", "shed")),
        ("method", "guess", ("vapour_excess", "en_15026", "en_15026_high", "iso_13788")),
    ],
)
def test_each_choice_is_one_of_a_list(name: str, wrong: str, right: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match=f"{name}.* one of"):
        check(replace(PLAIN, **{name: wrong}))  # type: ignore[arg-type]
    needed: dict[str, dict[str, Any]] = {
        "panes": {"humidify_to": 40.0},
        "dehumidifier": {"dehumidify_to": 50.0},
        "outer_walls": {"kind": "part_heated"},
    }
    beside = needed.get(name, {})
    for one in right:
        assert told(**beside, **{name: one}) is None


def test_settings_may_meet_and_not_cross() -> None:
    assert told(heat_to=21.0, cool_to=21.0, humidify_to=50.0, dehumidify_to=50.0) is None
    assert told(heat_to=21.1, cool_to=21.0) == {
        "code": "heats-above-cooling", "heat_to": 21.1, "cool_to": 21.0,
    }  # fmt: skip
    assert told(humidify_to=50.1, dehumidify_to=50.0) == {
        "code": "humidifies-above-drying", "humidify_to": 50.1, "dehumidify_to": 50.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("living", "code"),
    [
        ({"kind": "outdoors_covered"}, None),
        ({"kind": "outdoors_covered", "heat_to": 20.0}, "nothing-held-outdoors"),
        ({"kind": "outdoors_covered", "dehumidify_to": 60.0}, "nothing-held-outdoors"),
        ({"kind": "shed", "dehumidify_to": 60.0}, None),
        ({"kind": "shed", "shaded": True}, None),
        ({"kind": "shed", "heat_to": 20.0}, "temperature-of-its-own"),
        ({"kind": "open_shed", "cool_to": 20.0}, "temperature-of-its-own"),
        ({"method": "iso_13788", "cool_to": 20.0}, "temperature-of-its-own"),
        ({"method": "iso_13788", "humidify_to": 40.0}, None),
        ({"kind": "cellar", "heat_to": 20.0}, None),
        ({"kind": "cellar", "cool_to": 20.0}, "belongs-to"),
        ({"kind": "part_heated", "cool_to": 20.0}, "belongs-to"),
        ({"kind": "heated_shop", "heat_to": 18.0, "cool_to": 24.0}, None),
        ({"kind": "heated_shop", "method": "en_15026"}, "for-rooms-only"),
        ({"kind": "heated_shop", "occupied": "no"}, "for-rooms-only"),
        ({"method": "en_15026", "occupied": "no"}, "occupied-of-no-use"),
        ({**BALANCE, "occupied": "normally"}, "occupied-of-no-use"),
        ({"balanced_ventilation": True}, None),
        ({"balanced_ventilation": True, "occupied": "crowded"}, None),
        ({"balanced_ventilation": True, "occupied": "no"}, "belongs-to"),
        ({"balanced_ventilation": True, "kind": "heated_shop"}, "belongs-to"),
        ({"balanced_ventilation": True, "method": "en_15026"}, "belongs-to"),
        ({"panes": "single"}, "belongs-to"),
        ({"panes": "single", "dehumidify_to": 50.0}, "belongs-to"),
        ({"dehumidifier": "compressor"}, "belongs-to"),
        ({"dehumidifier": "compressor", "humidify_to": 40.0}, "belongs-to"),
        ({"dehumidifier_rated": 9.0, "air_changes": 0.5, "volume": 99.0}, "belongs-to"),
        ({"heated_share": 0.0}, "belongs-to"),
        ({"outer_walls": "one", "kind": "cellar"}, "belongs-to"),
        ({"shaded": True, "kind": "outdoors_covered"}, "belongs-to"),
        ({"shaded": True, "kind": "open_shed"}, None),
        (BALANCE, None),
        ({**BALANCE, "generation": 0.0, "air_changes": 0.01, "volume": 1.0}, None),
        ({**BALANCE, "generation": -0.1}, "balance-incomplete"),
        ({**BALANCE, "air_changes": 0.009}, "balance-incomplete"),
        ({**BALANCE, "volume": 0.99}, "balance-incomplete"),
        ({**BALANCE, "volume": float("inf")}, "balance-incomplete"),
        ({**BALANCE, "generation": None}, "balance-incomplete"),
        ({"generation": 6.0}, "balance-of-no-use"),
        ({"volume": 100.0}, "balance-of-no-use"),
        ({"air_changes": 0.5}, "balance-of-no-use"),
        ({"air_changes": 0.5, "volume": 100.0}, "balance-of-no-use"),
        ({"humidify_to": 40.0, "air_changes": 0.5, "volume": 100.0}, None),
        ({"humidify_to": 40.0, "volume": 100.0}, "balance-incomplete"),
        ({"humidify_to": 40.0, "air_changes": 0.5}, "balance-incomplete"),
        ({"dehumidify_to": 50.0, "dehumidifier_rated": 9.0}, "balance-incomplete"),
    ],
)
def test_what_goes_together(living: dict[str, Any], code: str | None) -> None:
    found = told(**living)
    assert (found and found["code"]) == code


def test_a_desiccant_one_has_no_label() -> None:
    rated = {"dehumidify_to": 50.0, "dehumidifier_rated": 9.0, "air_changes": 0.5, "volume": 99.0}
    assert told(**rated, dehumidifier="compressor") is None
    assert told(**rated) is None
    assert told(**rated, dehumidifier="desiccant") == {
        "code": "belongs-to", "name": "dehumidifier_rated", "to": "dehumidify_to by a compressor",
    }  # fmt: skip


def test_what_a_balance_lacks_is_told_with_its_least() -> None:
    assert told(method="moisture_balance") == {
        "code": "balance-incomplete",
        "what": "moisture_balance",
        "needed": "generation, at least 0 and air_changes, at least 0.01 and volume, at least 1",
    }
    lacks = "air_changes, at least 0.01 and volume, at least 1"
    assert told(dehumidify_to=50.0, dehumidifier_rated=9.0) == {
        "code": "balance-incomplete", "what": "dehumidifier_rated", "needed": lacks,
    }  # fmt: skip
    assert told(humidify_to=40.0, volume=0.5) == {
        "code": "balance-incomplete", "what": "humidify_to", "needed": lacks,
    }  # fmt: skip


def test_whose_temperature_is_its_own_is_told() -> None:
    assert (told(kind="shed", heat_to=20.0) or {})["what"] == "a shed"
    assert (told(method="en_15026", heat_to=20.0) or {})["what"] == "the method en_15026"
    held = told(kind="outdoors_covered", heat_to=20.0, dehumidify_to=60.0) or {}
    assert held["names"] == "heat_to, dehumidify_to"
