"""Burning against Cantera's element balance and equilibrium, and the counting of atoms for any gas."""

import math

import cantera
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaslab import units
from gaslab.guard import InputError
from gaslab.physics import combustion, gas

QUIET = settings(deadline=None, max_examples=60, derandomize=True)
SPECIES = {
    "methane": "CH4", "ethane": "C2H6", "propane": "C3H8", "hydrogen": "H2", "carbon-monoxide": "CO",
    "nitrogen": "N2", "carbon-dioxide": "CO2",
}  # fmt: skip
AIR = {"O2": 0.2095, "N2": 0.7905}
air_ratios = st.floats(1.0, 50.0)


@pytest.fixture(scope="module")
def reactor():
    return cantera.Solution("gri30.yaml")


@st.composite
def burning_gases(draw):
    """Draw a mixture of what Cantera's gri30 knows that holds at least a tenth of methane."""
    rest = [name for name in SPECIES if name != "methane"]
    parts = {name: draw(st.floats(0.0, 1.0)) for name in rest}
    parts["methane"] = draw(st.floats(1.0, 4.0))
    total = math.fsum(parts.values())
    return {name: part / total for name, part in parts.items()}


def burnt(reactor, composition, air_ratio):
    """Return (air need, dry volume, CO2, O2) for one volume of gas as Cantera has it: equilibrium when cold."""
    reactor.TP = 300.0, 101_325.0
    fuel = {SPECIES[name]: x for name, x in composition.items()}
    reactor.set_equivalence_ratio(1.0 / air_ratio, fuel, AIR, basis="mole")
    share = reactor["CH4"].X[0] / composition["methane"]
    moles, mass = 1.0 / share, reactor.mean_molecular_weight
    need = (moles - 1.0) / air_ratio
    reactor.TP = 300.0, 101_325.0
    reactor.equilibrate("TP")
    after = moles * mass / reactor.mean_molecular_weight
    dry = after * (1.0 - reactor["H2O"].X[0])
    return need, dry, reactor["CO2"].X[0] * after / dry, reactor["O2"].X[0] * after / dry


@given(composition=burning_gases(), air_ratio=st.floats(1.001, 4.0))
@settings(deadline=None, max_examples=40, derandomize=True)
def test_products_are_canteras(reactor, composition, air_ratio):
    """Source: Cantera 3.2.0 (gri30), equilibrium at 300 K, where burning is complete."""
    need, dry, co2, oxygen = burnt(reactor, composition, air_ratio)
    assert combustion.stoichiometric_air(composition) == pytest.approx(need, rel=1e-9)
    assert combustion.dry_products(composition, air_ratio) == pytest.approx(dry, rel=1e-8)
    assert combustion.co2_dry(composition, air_ratio) == pytest.approx(co2, rel=1e-8)
    assert combustion.oxygen_dry(composition, air_ratio) == pytest.approx(oxygen, abs=1e-9)
    assert combustion.air_ratio_from_oxygen(composition, oxygen) == pytest.approx(air_ratio, rel=1e-7)


@given(composition=burning_gases())
@settings(deadline=None, max_examples=20, derandomize=True)
def test_co2_maximum_is_canteras(reactor, composition):
    """Source: Cantera 3.2.0 (gri30), equilibrium at 300 K with just enough air."""
    assert combustion.co2_maximum(composition) == pytest.approx(burnt(reactor, composition, 1.0)[2], rel=1e-6)


# Closed forms, with the air taken as 20.95 % oxygen


@pytest.mark.parametrize(
    "key, need, maximum",
    [("g20", 9.547, 0.1170), ("mix-a", 9.885, 0.1199), ("g31", 23.87, 0.1372), ("g30", 31.03, 0.1402)],
)
def test_trade_values(key, need, maximum):
    """Trade facts, section 1.4, worked outside this program: methane 2/0.2095, 1/(1 + 2 x 0.7905/0.2095)."""
    assert combustion.stoichiometric_air(gas.mixture(key)) == pytest.approx(need, rel=2e-4)
    assert combustion.co2_maximum(gas.mixture(key)) == pytest.approx(maximum, abs=5e-5)


@pytest.mark.parametrize(
    "air_ratio, co2, oxygen",
    [(1.10, 10.53, 2.11), (1.25, 9.15, 4.57), (1.5, 7.51, 7.51), (2.0, 5.53, 11.05), (3.0, 3.62, 14.47)],
)
def test_excess_air_table_of_methane(air_ratio, co2, oxygen):
    """Trade facts, section 12, worked outside this program, per cent dry."""
    assert combustion.co2_dry({"methane": 1.0}, air_ratio) * 100 == pytest.approx(co2, abs=0.0051)
    assert combustion.oxygen_dry({"methane": 1.0}, air_ratio) * 100 == pytest.approx(oxygen, abs=0.0051)


def test_products_of_a_kilowatt_hour():
    """Trade facts, sections 1.4 and 9.2: methane 0.178 kg CO2 and 0.146 kg water; mix A 0.0981 m3 CO2.

    The 0.146 is for heat burnt at 25 °C, 890.58 kJ/mol; at 15 °C the heat is 891.51 kJ/mol and the
    same water makes 0.1455 kg. The 0.0981 lets a cubic metre of real gas make 1.066 m3 of CO2, which is the
    count of moles: it is low by the gas's compression factor, 0.99768. Hence the two factors.
    """
    carbon, water, _ = combustion.products_per_energy({"methane": 1.0})
    assert carbon * 3.6e6 == pytest.approx(0.178, abs=5e-4)
    assert water * 3.6e6 * 891.51 / 890.58 == pytest.approx(0.146, abs=5e-4)
    assert water == pytest.approx(2 * 0.01801528 / 891_510.0, rel=1e-12)
    volume = combustion.products_per_energy(gas.mixture("mix-a"))[2]
    assert volume * 3.6e6 * 0.99768 == pytest.approx(0.0981, abs=5e-5)


def test_the_shortcut_for_excess_air_reads_high():
    """O2/(20.95 - O2) gives 0.279 at 25 % excess air on methane (trade facts, section 12)."""
    oxygen = combustion.oxygen_dry({"methane": 1.0}, 1.25)
    assert oxygen / (0.2095 - oxygen) == pytest.approx(0.279, abs=5e-4)
    assert combustion.air_ratio_from_oxygen({"methane": 1.0}, oxygen) - 1.0 == pytest.approx(0.25, rel=1e-12)


# What must hold for any gas


@given(burning_gases(), air_ratios)
@QUIET
def test_carbon_oxygen_and_nitrogen_are_kept(composition, air_ratio):
    """Each atom that goes in with gas and air comes out in CO2, water, oxygen or nitrogen."""
    carbon, hydrogen, oxygen = (
        math.fsum(x * gas.component(name, atom) for name, x in composition.items())
        for atom in ("carbon", "hydrogen", "oxygen")
    )
    air = air_ratio * combustion.stoichiometric_air(composition)
    dry = combustion.dry_products(composition, air_ratio)
    co2 = combustion.co2_dry(composition, air_ratio) * dry
    left = combustion.oxygen_dry(composition, air_ratio) * dry
    assert co2 == pytest.approx(carbon, rel=1e-12)
    assert oxygen + 2 * 0.2095 * air == pytest.approx(2 * co2 + hydrogen / 2 + 2 * left, rel=1e-12)
    assert dry - co2 - left == pytest.approx(composition["nitrogen"] + 0.7905 * air, rel=1e-12)


@given(burning_gases(), air_ratios)
@QUIET
def test_oxygen_and_air_ratio_are_inverse(composition, air_ratio):
    oxygen = combustion.oxygen_dry(composition, min(air_ratio, 30.0))
    assert combustion.air_ratio_from_oxygen(composition, oxygen) == pytest.approx(
        min(air_ratio, 30.0), rel=1e-9
    )
    assert combustion.air_ratio_from_oxygen(composition, 0.0) == 1.0


@given(burning_gases(), st.floats(1.0, 49.0))
@QUIET
def test_more_air_means_less_co2_and_more_oxygen(composition, air_ratio):
    richer, leaner = air_ratio, air_ratio + 0.5
    assert combustion.co2_dry(composition, leaner) < combustion.co2_dry(composition, richer)
    assert combustion.oxygen_dry(composition, leaner) > combustion.oxygen_dry(composition, richer)
    assert combustion.co2_dry(composition, richer) <= combustion.co2_maximum(composition)
    assert combustion.dry_products(composition, leaner) > combustion.dry_products(composition, richer)
    assert combustion.oxygen_dry(composition, richer) < 0.2095


@given(st.floats(0.0, 1.0), air_ratios)
@QUIET
def test_oxygen_is_a_straight_line_in_co2_without_inert_gas(share, air_ratio):
    """O2 = 20.95 (1 - CO2/CO2max), exact for a gas with no nitrogen, oxygen or CO2 of its own."""
    composition = {"methane": share, "propane": 1.0 - share}
    line = 0.2095 * (1.0 - combustion.co2_dry(composition, air_ratio) / combustion.co2_maximum(composition))
    assert combustion.oxygen_dry(composition, air_ratio) == pytest.approx(line, abs=1e-12)


@given(st.floats(0.0, 0.01), air_ratios)
@QUIET
def test_air_free_co_undoes_thinning_with_air(co, air_ratio):
    """One part sample and (r - 1) parts air: CO is thinned to 1/r and oxygen is 20.95 (1 - 1/r)."""
    thinned = 0.2095 * (1.0 - 1.0 / min(air_ratio, 40.0))
    assert combustion.co_air_free(co / min(air_ratio, 40.0), thinned) == pytest.approx(co, rel=1e-9)
    assert combustion.co_air_free(co, 0.0) == pytest.approx(co, rel=1e-15)


@given(st.floats(0.0, 0.01), st.floats(0.001, 0.2), st.floats(1.0, 20.0))
@QUIET
def test_the_ratio_does_not_care_about_thinning(co, co2, thinning):
    ratio = combustion.co_ratio(co, co2)
    assert combustion.co_ratio(co / thinning, co2 / thinning) == pytest.approx(ratio, rel=1e-9)
    assert ratio * co2 == pytest.approx(co, rel=1e-12)


@given(burning_gases())
@QUIET
def test_products_per_energy_carry_the_carbon(composition):
    """CO2 mass over CO2 volume is its ideal density at 15 °C; heat times products is the atom count."""
    carbon, water, volume = combustion.products_per_energy(composition)
    assert carbon == pytest.approx(volume * 101_325.0 * 0.0440095 / (8.3144621 * 288.15), rel=1e-12)
    heat = gas.properties(composition).molar_cv_gross
    hydrogen = math.fsum(x * gas.component(name, "hydrogen") for name, x in composition.items())
    assert water * heat == pytest.approx(hydrogen / 2 * 0.01801528, rel=1e-12)


def test_what_does_not_burn_is_refused():
    calls = (
        combustion.stoichiometric_air,
        combustion.co2_maximum,
        combustion.products_per_energy,
        lambda composition: combustion.dry_products(composition, 1.2),
        lambda composition: combustion.co2_dry(composition, 1.2),
        lambda composition: combustion.oxygen_dry(composition, 1.2),
        lambda composition: combustion.air_ratio_from_oxygen(composition, 0.05),
    )
    for call in calls:
        for composition in ({"nitrogen": 1.0}, {"oxygen": 0.9, "methane": 0.1}, {"methane": 0.9}, None):
            with pytest.raises(InputError) as caught:
                call(composition)
            assert (
                caught.value.function.startswith("physics.combustion.")
                and caught.value.argument == "composition"
            )


def test_a_sample_with_no_co2_or_only_air_is_refused():
    with pytest.raises(InputError, match="Wait until the probe sees burnt gas"):
        combustion.co_ratio(20e-6, 0.0)
    with pytest.raises(InputError, match=r"Below 20\.5 %"):
        combustion.co_air_free(20e-6, 0.2095)


def test_arrays_and_quantities_are_taken():
    ratios = np.array([1.0, 1.25, 2.0])
    assert combustion.co2_dry(gas.mixture("g20"), ratios).shape == (3,)
    found = combustion.co_air_free(units.quantity(90.0, "ppm"), units.quantity(11.05, "%"))
    assert found.to("ppm").magnitude == pytest.approx(190.0, abs=0.5)
