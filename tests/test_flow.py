"""Pipe loss against outside formulas, published pipe tables, and what must hold for any pipe."""

import fluids
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gaslab import tables, units
from gaslab.guard import InputError
from gaslab.physics import flow

GAS = {"density": 0.7353, "viscosity": 1.0877e-5}  # relative density 0.6 at 15 °C; source: CoolProp for both
QUIET = settings(deadline=None, max_examples=60, derandomize=True)
reynolds = st.floats(1.0, 1e7)
roughness = st.floats(0.0, 0.05)
bores = st.floats(0.005, 0.1)
flows = st.floats(1e-8, 0.05)


def hourly(cubic_metres: float) -> float:
    return cubic_metres / 3600.0


# Outside formulas and libraries


@pytest.mark.parametrize("number", [4_000.0, 1e4, 3e4, 1e5, 1e6, 1e8])
@pytest.mark.parametrize("relative", [0.0, 1e-5, 1e-3, 0.02, 0.05])
def test_turbulent_factor_is_colebrooks(number, relative):
    """Source: fluids 1.3.1, Colebrook solved there by its own method."""
    assert flow.friction_factor(number, relative) == pytest.approx(
        fluids.friction.Colebrook(number, relative), rel=1e-11
    )


@given(reynolds, roughness)
@example(4_000.0, 0.0)
@QUIET
def test_colebrook_residual_is_rounding(number, relative):
    number = max(number, 4_000.0)
    root = flow.friction_factor(number, relative) ** -0.5
    assert abs(root + 2.0 * np.log10(relative / 3.7 + 2.51 * root / number)) < 2e-15 * root


@given(st.floats(1e-9, 2e-4), bores, st.floats(0.01, 100.0))
@QUIET
def test_slow_flow_is_hagen_poiseuille(rate, bore, length):
    """128 mu L q / (pi d^4), the closed form for laminar flow, whatever the roughness."""
    if flow.reynolds_number(rate, bore, **GAS) > 2000.0:
        rate = 1e-9
    loss = flow.pressure_loss(rate, length, bore, 4.6e-5, **GAS)
    assert loss == pytest.approx(128 * GAS["viscosity"] * length * rate / (np.pi * bore**4), rel=1e-12)


@pytest.mark.parametrize("relative", [0.0, 0.001, 0.05])
def test_the_blend_is_mostly_turbulent_from_2600(relative):
    """By hand from the module's words: at Re 2600, s = 1 - 0.7^5 = 0.83193 and its share s^2 (3 - 2 s) is 0.92475.

    The turbulent end is fluids' Colebrook, the laminar end 64/Re.
    """
    turbulent = fluids.friction.Colebrook(2600.0, relative)
    mixed = 0.92475 * turbulent + 0.07525 * 64.0 / 2600.0
    assert flow.friction_factor(2600.0, relative) == pytest.approx(mixed, rel=1e-5)


@pytest.mark.parametrize("relative", [0.0, 0.001, 0.05])
def test_flow_is_laminar_to_2000_and_no_longer_just_above(relative):
    """2000 is the usual handbook limit (common practice, no source); 64/Re is Hagen-Poiseuille's."""
    assert flow.friction_factor(2000.0, relative) * 2000.0 == pytest.approx(64.0, rel=1e-12)
    assert flow.friction_factor(2050.0, relative) * 2050.0 > 64.5


@pytest.mark.parametrize("number", [5e3, 1e4, 3e4, 6e4, 1e5])
def test_smooth_pipe_is_near_blasius(number):
    """Blasius f = 0.3164 Re^-0.25 gives the flow for a loss within 2 % (trade-facts); flow goes as f^-1/2."""
    blasius = 0.3164 * number**-0.25
    assert (blasius / flow.friction_factor(number, 0.0)) ** -0.5 == pytest.approx(1.0, abs=0.02)


def test_loss_is_the_librarys_darcy_loss():
    """Source: fluids 1.3.1, K_from_f and dP_from_K with its Colebrook factor."""
    rate, length, bore, rough = hourly(6.0), 12.0, 0.0217, 4.6e-5
    speed = flow.velocity(rate, bore)
    factor = fluids.friction.Colebrook(
        fluids.Reynolds(V=speed, D=bore, rho=GAS["density"], mu=GAS["viscosity"]), rough / bore
    )
    outside = fluids.dP_from_K(fluids.K_from_f(factor, length, bore), GAS["density"], speed)
    assert flow.pressure_loss(rate, length, bore, rough, **GAS) == pytest.approx(outside, rel=1e-11)


def test_reynolds_number_is_the_librarys():
    """Source: fluids 1.3.1."""
    rate, bore = hourly(2.5), 0.0202
    outside = fluids.Reynolds(V=rate / (np.pi * bore**2 / 4), D=bore, rho=GAS["density"], mu=GAS["viscosity"])
    assert flow.reynolds_number(rate, bore, **GAS) == pytest.approx(outside, rel=1e-12)


# Published tables

SCHEDULE_40 = np.array([0.622, 0.824, 1.049, 1.380, 1.610, 2.067])  # bores [in]
IFGC_STEEL = {  # (loss in w.c., length ft): ft3/h at relative density 0.60
    (3.0, 10): (454, 949, 1790, 3670, 5500, 10600), (3.0, 20): (312, 652, 1230, 2520, 3780, 7280),
    (3.0, 30): (250, 524, 986, 2030, 3030, 5840), (3.0, 40): (214, 448, 844, 1730, 2600, 5000),
    (3.0, 50): (190, 397, 748, 1540, 2300, 4430), (3.0, 60): (172, 360, 678, 1390, 2090, 4020),
    (3.0, 70): (158, 331, 624, 1280, 1920, 3700), (3.0, 80): (147, 308, 580, 1190, 1790, 3440),
    (6.0, 10): (660, 1380, 2600, 5340, 8000, 15400), (6.0, 20): (454, 949, 1790, 3670, 5500, 10600),
    (6.0, 30): (364, 762, 1440, 2950, 4420, 8500), (6.0, 40): (312, 652, 1230, 2520, 3780, 7280),
    (6.0, 50): (276, 578, 1090, 2240, 3350, 6450), (6.0, 60): (250, 524, 986, 2030, 3030, 5840),
}  # fmt: skip
PE_BORES = np.array([0.660, 0.860, 1.077, 1.328, 1.554, 1.943])
IFGC_PE = {
    (0.5, 10): (201, 403, 726, 1260, 1900, 3410), (0.5, 30): (111, 222, 401, 695, 1050, 1880),
    (0.5, 60): (76, 153, 276, 477, 721, 1300),
}  # fmt: skip


def row_in_si(loss, feet, bores, cubic_feet):
    si = units.convert(loss, "in w.c.", "Pa"), feet * 0.3048, bores * 0.0254
    return *si, units.convert(np.array(cubic_feet, dtype=float), "ft3/h", "m3/s")


def rounding(cubic_feet):
    """Half of the last digit of a table that keeps three figures, relative."""
    values = np.array(cubic_feet, dtype=float)
    return 0.5 * 10 ** np.maximum(np.floor(np.log10(values)) - 2, 0) / values


@pytest.mark.parametrize("place, row", IFGC_STEEL.items())
def test_published_steel_rows(place, row):
    """Source: ifgc-2018 tables 402.4(3) and (4). Darcy with 46 µm roughness.

    The table comes from a power-law equation that drifts from Darcy as pipe grows, so the
    stated model difference is 3 % for the two domestic sizes and 10 % up to 2 in.
    """
    loss, length, bores, published = row_in_si(*place, SCHEDULE_40, row)
    ratio = flow.discharge(loss, length, bores, 4.6e-5, **GAS) / published
    limit = np.array([0.03, 0.03, 0.10, 0.10, 0.10, 0.10]) + rounding(row)
    assert np.all(np.abs(ratio - 1.0) < limit)


@pytest.mark.parametrize(
    "bores, place, row",
    [(SCHEDULE_40, *r) for r in IFGC_STEEL.items()] + [(PE_BORES, *r) for r in IFGC_PE.items()],
)
def test_low_pressure_equation_makes_the_published_rows(bores, place, row):
    """Source: ifgc-2018 tables 402.4(3), (4) and (21); the equation is within 1 % of them."""
    loss, length, bores, published = row_in_si(*place, bores, row)
    ratio = flow.low_pressure_equation(loss, length, bores) / published
    assert np.all(np.abs(ratio - 1.0) < 0.01 + rounding(row))


@pytest.mark.parametrize("place, row", IFGC_PE.items())
def test_published_plastic_rows(place, row):
    """Source: ifgc-2018 table 402.4(21). The table allows plastic no smoother a wall than steel
    (one equation for both); against the smooth wall of Darcy that is up to 20 % cautious."""
    loss, length, bores, published = row_in_si(*place, PE_BORES, row)
    ratio = flow.discharge(loss, length, bores, 0.0, **GAS) / published
    assert np.all(ratio > 0.97) and np.all(ratio < 1.20)


LENGTHS = np.array([3.0, 6.0, 9.0, 12.0, 15.0, 20.0, 25.0, 30.0])
COPPER = {  # bore: m3/h at 1 mbar, relative density 0.6; source: bs-6891-2005, a public copy of its table
    0.0088: (0.84, 0.56, 0.51, 0.36, 0.31, 0.22, 0.17, 0.14),
    0.0108: (1.52, 1.01, 0.84, 0.82, 0.67, 0.51, 0.39, 0.33),
    0.0136: (2.9, 1.9, 1.5, 1.3, 1.1, 0.95, 0.92, 0.88),
    0.0202: (8.7, 5.8, 4.6, 3.9, 3.6, 2.8, 2.6, 2.3),
    0.0262: (18.0, 12.0, 9.4, 8.0, 7.2, 6.0, 5.4, 4.8),
}
DISPUTED = {
    (0.0202, 15.0),
    (0.0202, 20.0),
    (0.0202, 25.0),
    (0.0262, 15.0),
    (0.0262, 20.0),
    (0.0262, 25.0),
    (0.0262, 30.0),
}


def test_copper_table_where_flow_is_turbulent():
    """Within 5 % and the table's rounding. Disputed columns (the copy differs from memory of the
    standard by up to 6 %) get 10 %. The next test takes the cells that are not turbulent."""
    held = 0
    for bore, row in COPPER.items():
        for length, published in zip(LENGTHS, row, strict=True):
            ours = flow.discharge(100.0, length, bore, 0.0, **GAS)
            if flow.reynolds_number(ours, bore, **GAS) < 4000.0:
                continue
            limit = 0.10 if (bore, length) in DISPUTED else 0.05
            step = 0.5 if published > 10 else 0.05
            assert abs(ours * 3600 - published) <= limit * published + step, (bore, length, published, ours)
            held += 1
    assert held == 14  # 15 mm at 3 m, 22 mm to 15 m, 28 mm throughout


def test_copper_table_where_flow_is_not_turbulent():
    """There the table stays on the turbulent branch while it can. So each published flow must lie
    between that branch (10 % margin, and the rounding) and ours."""
    for bore, row in COPPER.items():
        for length, published in zip(LENGTHS, row, strict=True):
            ours = flow.discharge(100.0, length, bore, 0.0, **GAS)
            if flow.reynolds_number(ours, bore, **GAS) >= 4000.0:
                continue
            strength = 2.0 * bore**3 * GAS["density"] * 100.0 / (length * GAS["viscosity"] ** 2)
            branch = (
                -2.0
                * strength**0.5
                * np.log10(2.51 / strength**0.5)
                * np.pi
                * bore
                * GAS["viscosity"]
                / 4
                / GAS["density"]
            )
            lowest, highest = min(branch, ours) * 3600, max(branch, ours) * 3600
            step = 0.05 if bore >= 0.0136 else 0.005
            assert 0.85 * lowest - step <= published <= 1.05 * highest + step, (
                bore,
                length,
                published,
                lowest,
                highest,
            )


@pytest.mark.parametrize(
    "bore, kilowatts, per_metre, limit",
    [
        (0.0136, (5, 7, 10), (0.0166, 0.0233, 0.0332), 0.005),  # laminar
        (0.0136, (30,), (0.2866,), 0.005),  # turbulent
        (0.0202, (10, 40), (0.0068, 0.0726), 0.01),
        (0.0136, (15, 20), (0.0882, 0.1435), 0.25),  # the transition: a choice of model
        (0.0202, (30, 35), (0.0445, 0.0578), 0.25),
        (0.0262, (30, 40), (0.0131, 0.0214), 0.25),
    ],
)
def test_single_metre_drops(bore, kilowatts, per_metre, limit):
    """Source: fluids 1.3.1 (smooth tube, 39 MJ/m3 gross, relative density 0.6), mbar per metre."""
    loss = flow.pressure_loss(np.array(kilowatts) / 39e3, 1.0, bore, 0.0, **GAS) / 100
    assert loss == pytest.approx(np.array(per_metre), rel=limit)


def test_steel_table_in_turbulent_flow():
    """Source: fluids 1.3.1, EN 10255 medium, 46 µm, m3/h at 1 mbar."""
    for bore, row in (
        (0.0273, (19.1, 13.0, 10.4, 8.82, 7.77, 6.60, 5.81, 5.23)),
        (0.036, (40.2, 27.5, 22.0, 18.7, 16.5, 14.1, 12.4, 11.2)),
    ):
        assert flow.discharge(100.0, LENGTHS, bore, 4.6e-5, **GAS) * 3600 == pytest.approx(
            np.array(row), rel=0.005
        )


# Short formulas, and why they mislead


def test_pole_promises_a_quarter_too_much_in_22_mm_tube():
    """22 mm, 15 m, 1 mbar: Pole 4.34 m3/h, Colebrook 3.51 (fluids 1.3.1): 24 % more than it carries."""
    pole = flow.pole_discharge(100.0, 15.0, 0.0202, 0.6) * 3600
    carried = flow.discharge(100.0, 15.0, 0.0202, 0.0, **GAS) * 3600
    assert pole == pytest.approx(4.34, abs=0.005) and carried == pytest.approx(3.51, abs=0.01)
    assert pole / carried == pytest.approx(1.24, abs=0.01)


def test_spitzglass_promises_a_fifth_too_little():
    """3550 sqrt(d^5 h / (s L (1 + 3.6/d + 0.03 d))) ft3/h (from memory) gives 2.81 m3/h there."""
    inches, feet, column = 0.0202 / 0.0254, 15 / 0.3048, 100 / 249.089
    spitzglass = (
        3550 * (inches**5 * column / (0.6 * feet * (1 + 3.6 / inches + 0.03 * inches))) ** 0.5 * 0.0283168
    )
    assert spitzglass == pytest.approx(2.81, abs=0.01)
    assert spitzglass < 0.85 * flow.discharge(100.0, 15.0, 0.0202, 0.0, **GAS) * 3600


def test_pole_is_darcy_with_a_fixed_factor():
    """The constant 0.0071 stands for Fanning 0.0065 (Darcy 0.026) to 0.2 %, with air at 1.2255 kg/m3."""
    loss, length, bore = 150.0, 20.0, 0.035
    darcy = (loss * 2 * bore / (0.026 * length * 0.6 * 1.2255)) ** 0.5 * np.pi * bore**2 / 4
    assert flow.pole_discharge(loss, length, bore, 0.6) == pytest.approx(darcy, rel=0.003)


# What holds for any pipe


@given(st.floats(1.0, 1e7), st.floats(1.0, 1e7), roughness)
@QUIET
def test_more_flow_means_more_loss(one, other, relative):
    low, high = sorted((one, other))
    if high > low * (1 + 1e-9):
        assert flow.friction_factor(low, relative) * low**2 < flow.friction_factor(high, relative) * high**2


@given(roughness)
@QUIET
def test_no_step_where_the_ranges_meet(relative):
    for edge in (2000.0, 4000.0):
        below, above = (
            flow.friction_factor(edge - 1e-6, relative),
            flow.friction_factor(edge + 1e-6, relative),
        )
        assert below == pytest.approx(above, rel=1e-6)


def test_no_corner_where_the_ranges_meet():
    number = np.array([-0.2, -0.1, 0.1, 0.2])
    for edge in (2000.0, 4000.0):
        product = flow.friction_factor(edge + number, 1e-4) * (edge + number)
        assert abs((product[3] - product[2]) - (product[1] - product[0])) / 0.1 < 1e-3


@given(flows, st.floats(0.1, 100.0), bores, st.floats(0.0, 2e-4))
@QUIET
def test_discharge_turns_loss_round(rate, length, bore, rough):
    loss = flow.pressure_loss.bare(rate, length, bore, rough, **GAS)
    if 1e-12 < loss <= 20_000:
        assert flow.discharge(loss, length, bore, rough, **GAS) == pytest.approx(rate, rel=1e-9)


@pytest.mark.parametrize("relative", [0.0, 1e-4, 5e-3])
def test_discharge_turns_loss_round_between_the_kinds_of_flow(relative):
    """From Re 2000 to 4000, where discharge has to search, as surely as elsewhere."""
    number = np.linspace(1_990.0, 4_010.0, 102)
    rate = number * np.pi * 0.0202 * GAS["viscosity"] / (4.0 * GAS["density"])
    loss = flow.pressure_loss(rate, 10.0, 0.0202, relative * 0.0202, **GAS)
    assert flow.discharge(loss, 10.0, 0.0202, relative * 0.0202, **GAS) == pytest.approx(rate, rel=1e-9)


@given(st.lists(flows, min_size=1, max_size=6), bores)
@QUIET
def test_array_and_number_agree(rates, bore):
    whole = flow.pressure_loss(np.array(rates), 3.0, bore, 1.5e-6, **GAS)
    assert whole == pytest.approx([flow.pressure_loss(q, 3.0, bore, 1.5e-6, **GAS) for q in rates], rel=1e-13)


@given(flows, st.floats(0.1, 50.0), st.floats(0.1, 50.0), bores)
@QUIET
def test_loss_adds_along_the_length(rate, one, other, bore):
    def loss(length):
        return flow.pressure_loss(rate, length, bore, 1.5e-6, **GAS)

    assert loss(one + other) == pytest.approx(loss(one) + loss(other), rel=1e-12)


@given(flows, bores)
@QUIET
def test_velocity_carries_the_flow(rate, bore):
    assert flow.velocity(rate, bore) * np.pi * bore**2 / 4 == pytest.approx(rate, rel=1e-12)


@given(st.floats(1e-8, 0.05), bores, st.floats(1.1, 2.0))
@QUIET
def test_reynolds_number_rises_with_flow_and_falls_with_bore(rate, bore, times):
    number = flow.reynolds_number(rate, bore, **GAS)
    assert flow.reynolds_number(rate * times, bore, **GAS) == pytest.approx(times * number)
    assert flow.reynolds_number(rate, bore * times, **GAS) == pytest.approx(number / times)


@given(st.floats(-50, 50), st.floats(0.1, 4.0), st.floats(0.9, 1.5))
@QUIET
def test_up_and_down_again_gains_nothing(rise, gas, air):
    gain = flow.static_gain(rise, gas, air)
    assert gain + flow.static_gain(-rise, gas, air) == 0.0
    assert gain == 0.0 or (gain > 0) == ((rise > 0) == (gas < air))


@given(st.floats(1.0, 1000.0), st.floats(1.0, 50.0), bores, st.floats(1.1, 4.0))
@QUIET
def test_short_formulas_see_only_the_gradient(loss, length, bore, times):
    for formula in (
        lambda fall, run: flow.pole_discharge(fall, run, bore, 0.6),
        lambda fall, run: flow.low_pressure_equation(fall, run, bore),
    ):
        assert formula(loss * times, length * times) == pytest.approx(formula(loss, length), rel=1e-9)
        assert formula(loss * times, length) > formula(loss, length)


def test_no_flow_no_loss_and_no_loss_no_flow():
    assert flow.pressure_loss(0.0, 5.0, 0.0136, 0.0, **GAS) == 0.0
    assert flow.discharge(0.0, 5.0, 0.0136, 0.0, **GAS) == 0.0


def test_quantities_in_quantities_out():
    rate, bore = units.quantity(1.0, "m3/h"), units.quantity(13.6, "mm")
    assert flow.velocity(rate, bore).to("meter/second").magnitude == pytest.approx(
        1.912, abs=0.001
    )  # 1/3600/(pi/4 0.0136^2)


def test_a_bore_in_millimetres_is_refused_with_a_sentence():
    with pytest.raises(InputError, match=r"physics.flow.velocity: bore must be .* 0.2 m .*; got 13.6\. "):
        flow.velocity(1e-4, 13.6)


@pytest.mark.parametrize(
    "key, bore",
    [("copper-15", 13.6), ("copper-22", 20.2), ("copper-28", 26.2), ("steel-15", 16.1), ("steel-32", 36.0)],
)
def test_table_bores(key, bore):
    """Bore = outside diameter less two walls; source: en-1057 table, EN 10255 (from memory)."""
    wall, outside = (
        tables.fact("pipes", key, "wall").value,
        tables.fact("pipes", key, "outside_diameter").value,
    )
    assert outside - 2 * wall == pytest.approx(bore)
