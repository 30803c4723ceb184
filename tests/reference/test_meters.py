"""Meter corrections against figures in print, each with its source beside it."""

import numpy as np
import pytest

from model.properties import meters


@pytest.mark.parametrize(
    ("temperature", "printed"),
    # Pfaff & Garrahan 1986, Forest Products Journal 36(3), the form evaluated at a reading of 12 %
    # on the Douglas-fir scale with a = 1, b = 0 (memory, medium).
    [(0.0, 14.26), (20.0, 12.25), (30.0, 11.36)],
)
def test_a_reading_of_12_percent_is_corrected_for_the_woods_temperature(
    temperature: float, printed: float
) -> None:
    # The figures are given to two decimals.
    assert meters.pin_moisture(12.0, temperature) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("value", [10.0, 11.0, 12.0])
def test_temperature_correction_agrees_with_the_handbooks_rule_of_half_a_percent_per_5_6_k(
    value: float,
) -> None:
    # Wood Handbook FPL-GTR-190 ch. 4 (printed): 0.5 % per 5.6 degC (10 degF).  A rule in one digit,
    # so 0.05 either way; it holds for dry wood, the correction grows with the reading.
    fall = float(meters.pin_moisture(value, 0.0) - meters.pin_moisture(value, 30.0))
    assert fall * 5.6 / 30.0 == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize(
    ("megohm", "printed"),
    # James 1988, FPL-GTR-6, Douglas-fir at 27 degC, pins 31 mm apart (memory).
    [
        (22400.0, 7.0),
        (4780.0, 8.0),
        (1660.0, 9.0),
        (630.0, 10.0),
        (120.0, 12.0),
        (18.6, 15.0),
        (2.14, 20.0),
    ],
)
def test_the_douglas_fir_resistances_give_their_moisture(megohm: float, printed: float) -> None:
    assert meters.resistance_moisture(megohm * 1e6) == pytest.approx(printed, abs=1e-9)


def test_one_straight_line_in_the_double_logarithm_carries_the_whole_resistance_table() -> None:
    # Samuelsson's form, log10(log10 R + 1) = A + B M (memory), against James's table (memory): two
    # sources that should agree.  The worst row, 7 %, misses by 0.19 % M.
    megohm = np.array([22400.0, 4780.0, 1660.0, 630.0, 120.0, 18.6, 2.14])
    moisture = np.array([7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 20.0])
    rate, intercept = np.polyfit(moisture, np.log10(np.log10(megohm) + 1.0), 1)
    for one, printed in zip(megohm, moisture, strict=True):
        found = meters.resistance_moisture(one * 1e6, float(intercept), float(rate))
        assert found == pytest.approx(printed, abs=0.2)


@pytest.mark.parametrize(
    ("wood", "moisture", "at_10", "at_14"),
    # James 1988, FPL-GTR-6 Table 1 at 27 degC (memory): megohms at 10 and 14 %, on whose rows the
    # lines were fitted, and what the wood holds where a Douglas-fir meter reads 12.0.
    [
        ("american-elm", 10.0, 110.0, 7.0),
        ("white-ash", 10.9, 250.0, 14.0),
        ("white-oak", 11.4, 415.0, 22.0),
        ("northern-red-oak", 12.0, 630.0, 32.0),
        ("sugar-maple", 12.1, 690.0, 29.0),
        ("black-walnut", 12.3, 890.0, 41.0),
        ("yellow-birch", 12.9, 1290.0, 53.0),
        ("african-mahogany", 14.5, 2750.0, 180.0),
        ("coast-douglas-fir", 12.0, 630.0, 33.0),
    ],
)
def test_a_douglas_fir_meter_reads_other_woods_by_their_rows(
    wood: str, moisture: float, at_10: float, at_14: float
) -> None:
    row = meters.constants(wood)
    assert row is not None
    # Told to a tenth.
    assert (12.0 - row.b) / row.a == pytest.approx(moisture, abs=0.06)
    for megohm, told in ((at_10, 10.0), (at_14, 14.0)):
        if megohm:
            found = meters.resistance_moisture(megohm * 1e6, row.intercept, row.rate)
            # The line misses its own row by `residual` at most.
            assert found == pytest.approx(told, abs=row.residual)


def test_oven_dry_arithmetic_is_the_standards() -> None:
    # ASTM D4442 and EN 13183-1: 100 (m1 - m0)/m0.  56.0 g wet, 50.0 g dry is 12.0 % by definition;
    # green wood may hold more water than wood.
    assert float(meters.oven_dry_moisture(0.0560, 0.0500)) == pytest.approx(12.0, abs=1e-12)
    assert float(meters.oven_dry_moisture(0.220, 0.100)) == pytest.approx(120.0, abs=1e-12)


def test_a_sample_board_follows_its_weight_from_the_sections_moisture() -> None:
    # Method of the Dry Kiln Operator's Manual AH-188 ch. 6 (memory); the figures are ours: 4.46 kg
    # at 85 % is 4.46/1.85 = 2.4108 kg oven-dry; at 3.50 kg it then holds 100 (3.50/2.4108 - 1).
    dry = float(meters.board_dry_weight(4.46, 85.0))
    assert dry == pytest.approx(2.4108, abs=5e-5)
    assert float(meters.oven_dry_moisture(3.50, dry)) == pytest.approx(45.18, abs=5e-3)


def test_a_parabolic_profile_has_its_mean_at_0_211_of_the_thickness_exactly() -> None:
    # Derived: shell + (core - shell)(1 - x^2), x = 2 z/t - 1, has its mean where x^2 = 1/3.
    thickness, shell, core = 0.05, 7.0, 13.0
    x = 2.0 * meters.MEAN_DEPTH - 1.0
    mean = shell + (core - shell) * 2.0 / 3.0
    assert shell + (core - shell) * (1.0 - x * x) == pytest.approx(mean, abs=1e-12)
    assert pytest.approx(0.211, abs=5e-4) == meters.MEAN_DEPTH  # printed to three digits
    # and it lies in the band a fifth to a quarter of the thickness that common practice asks for
    assert 1.0 / 5.0 < meters.MEAN_DEPTH < 1.0 / 4.0
    assert thickness * meters.MEAN_DEPTH == pytest.approx(0.0106, abs=1e-4)
