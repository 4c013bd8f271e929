"""Burning: the air a gas needs, and what stands in the burnt gas.

Everything follows from counting atoms: CcHhOo + (c + h/4 - o/2) O2 -> c CO2 + h/2 H2O.
Volumes are ideal. The burnt gas is dry (its water taken out), as an analyser sees it.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaslab import tables
from gaslab.guard import FRACTION, InputError, between, calculation, positive
from gaslab.physics import gas
from gaslab.physics.gas import Composition
from gaslab.units import ATMOSPHERE

AIR_RATIO = between("1", 1.0, 50.0, "air over the air that is just enough; 1.25 is 25 % more")
OXYGEN_LEFT = between(
    "1", 0.0, 0.205, "oxygen in the dry sample, as a fraction", "Below 20.5 %; 5 % is 0.05."
)


@dataclass(frozen=True)
class Counts:
    """What one mole of gas brings: `carbon` and `water` it makes, `oxygen` it needs, `nitrogen` it holds [mol]."""

    carbon: float
    water: float
    oxygen: float
    nitrogen: float


def counts(function: str, composition: Composition) -> Counts:
    """Return the atom count of a gas that burns; refuse any other."""
    gas.check_composition(function, composition)
    carbon, hydrogen, oxygen = (gas.mean(composition, atom) for atom in ("carbon", "hydrogen", "oxygen"))
    need = carbon + hydrogen / 4.0 - oxygen / 2.0
    if need <= 0.0:
        raise InputError(
            function, "composition", "a gas that burns", dict(composition), "Add a gas that burns."
        )
    return Counts(carbon, hydrogen / 2.0, need, composition.get("nitrogen", 0.0))


def oxygen_in_air() -> float:
    """Return the fraction of oxygen in dry air [1]."""
    return tables.si("constants", "air", "oxygen")


def _dry_volume(found: Counts, air_ratio):
    nitrogen = found.nitrogen + air_ratio * found.oxygen * (1.0 / oxygen_in_air() - 1.0)
    return found.carbon + nitrogen + (air_ratio - 1.0) * found.oxygen


@calculation()
def stoichiometric_air(composition: Composition) -> float:
    """Return the air need [m3 air per m3 gas, ideal volumes]: S/0.2095.

    S = c + h/4 - o/2 [mol/mol], the oxygen the gas needs. Source: gaslab (atom count).

    >>> round(stoichiometric_air({"methane": 1.0}), 2)
    9.55
    """
    return counts("physics.combustion.stoichiometric_air", composition).oxygen / oxygen_in_air()


@calculation(air_ratio=AIR_RATIO)
def dry_products(composition: Composition, air_ratio):
    """Return the dry burnt gas [m3 per m3 gas]: CO2 + nitrogen + left-over oxygen.

    V = c + n + L S (1/0.2095 - 1) + (L - 1) S, with S the oxygen need, n the nitrogen in the gas
    and L the air ratio (1 to 50). Source: gaslab (atom count).

    >>> round(dry_products({"methane": 1.0}, 1.0), 3)
    8.547
    """
    return _dry_volume(counts("physics.combustion.dry_products", composition), air_ratio)


@calculation(air_ratio=AIR_RATIO)
def co2_dry(composition: Composition, air_ratio):
    """Return the fraction of CO2 in the dry burnt gas [1]: c/V. Source: gaslab (atom count).

    >>> round(co2_dry({"methane": 1.0}, 2.0), 4)
    0.0553
    """
    found = counts("physics.combustion.co2_dry", composition)
    return found.carbon / _dry_volume(found, air_ratio)


@calculation(air_ratio=AIR_RATIO)
def oxygen_dry(composition: Composition, air_ratio):
    """Return the fraction of oxygen in the dry burnt gas [1]: (L - 1) S/V. Source: gaslab (atom count).

    >>> round(oxygen_dry({"methane": 1.0}, 2.0), 4)
    0.1105
    """
    found = counts("physics.combustion.oxygen_dry", composition)
    return (air_ratio - 1.0) * found.oxygen / _dry_volume(found, air_ratio)


@calculation()
def co2_maximum(composition: Composition) -> float:
    """Return the most CO2 the dry burnt gas can hold [1]: burnt with just enough air.

    Source: gaslab (atom count). It is c/V at an air ratio of 1.

    >>> round(co2_maximum({"methane": 1.0}), 3)
    0.117
    """
    found = counts("physics.combustion.co2_maximum", composition)
    return found.carbon / _dry_volume(found, 1.0)


@calculation(oxygen_dry=OXYGEN_LEFT)
def air_ratio_from_oxygen(composition: Composition, oxygen_dry):
    """Return the air ratio [1] that leaves a fraction of oxygen in the dry burnt gas.

    L = 1 + O2 V1/(S (1 - O2/0.2095)), V1 the dry products at L = 1. Valid below 20.5 % oxygen.
    The shortcut O2/(20.95 - O2) reads high, because dry products are less than the air.
    Source: gaslab (atom count).

    >>> round(air_ratio_from_oxygen({"methane": 1.0}, 0.1105), 2)
    2.0
    """
    found = counts("physics.combustion.air_ratio_from_oxygen", composition)
    return 1.0 + oxygen_dry * _dry_volume(found, 1.0) / (found.oxygen * (1.0 - oxygen_dry / oxygen_in_air()))


@calculation()
def products_per_energy(composition: Composition) -> tuple[float, float, float]:
    """Return (kg CO2, kg water, m3 CO2) for each joule of gross heat.

    m3 at 15 °C and 1013.25 mbar, ideal. Source: gaslab (atom count) with iso-6976 heats.
    Each is an atom count over the gross heat H: c M_CO2/H, (h/2) M_water/H and c V/H.

    >>> round(products_per_energy({"methane": 1.0})[0] * 3.6e6, 3)
    0.178
    """
    found = counts("physics.combustion.products_per_energy", composition)
    heat = gas.properties(composition).molar_cv_gross
    mole = tables.si("constants", "gas", "molar_constant") * gas.CELSIUS_15 / ATMOSPHERE
    return (
        found.carbon * tables.si("constants", "carbon-dioxide", "molar_mass") / heat,
        found.water * tables.si("constants", "water", "molar_mass") / heat,
        found.carbon * mole / heat,
    )


@calculation(returns="1", co=FRACTION, oxygen_dry=OXYGEN_LEFT)
def co_air_free(co, oxygen_dry):
    """Return the CO [1] that the sample would hold with no extra air: CO x 0.2095/(0.2095 - O2).

    Valid below 20.5 % oxygen. Source: gaslab (dilution).

    >>> round(co_air_free(90e-6, 0.1105) * 1e6)
    190
    """
    return co * oxygen_in_air() / (oxygen_in_air() - oxygen_dry)


@calculation(
    returns="1",
    co=FRACTION,
    co2=positive(
        "1", 0.25, "CO2 in the sample, as a fraction", "Wait until the probe sees burnt gas; 9 % is 0.09."
    ),
)
def co_ratio(co, co2):
    """Return the ratio CO/CO2 [1]; both as fractions of the same sample. Source: bs-7967.

    >>> round(co_ratio(120e-6, 0.095), 5)
    0.00126
    """
    return co / co2
