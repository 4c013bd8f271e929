"""Burning: the air a gas needs, and what stands in the burnt gas.

Everything follows from counting atoms: CcHhOo + (c + h/4 - o/2) O2 -> c CO2 + h/2 H2O.
Volumes are ideal. The burnt gas is dry (its water taken out), as an analyser sees it.
"""

from __future__ import annotations

from gaslab import tables
from gaslab.guard import FRACTION, InputError, between, calculation, zero_or_more
from gaslab.physics import gas
from gaslab.physics.gas import Composition

AIR_RATIO = between("1", 1.0, 50.0, "air over the air that is just enough; 1.25 is 25 % more")


def oxygen_in_air() -> float:
    """Return the fraction of oxygen in dry air [1]."""
    return tables.si("constants", "air", "oxygen")


def _oxygen_need(composition: Composition) -> float:
    carbon, hydrogen, oxygen = (gas.mean(composition, atom) for atom in ("carbon", "hydrogen", "oxygen"))
    return carbon + hydrogen / 4.0 - oxygen / 2.0


def _inert(composition: Composition) -> float:
    """Return the volume of nitrogen that the gas itself brings."""
    return composition.get("nitrogen", 0.0)


@calculation()
def stoichiometric_air(composition: Composition) -> float:
    """Return the air need [m3 air per m3 gas, ideal volumes]: (c + h/4 - o/2)/0.2095.

    Source: gaslab (atom count); air with 20.95 % oxygen.

    >>> round(stoichiometric_air({"methane": 1.0}), 2)
    9.55
    """
    gas.check_composition("physics.combustion.stoichiometric_air", composition)
    return _oxygen_need(composition) / oxygen_in_air()


@calculation(air_ratio=AIR_RATIO)
def dry_products(composition: Composition, air_ratio):
    """Return the dry burnt gas [m3 per m3 gas]: CO2 + nitrogen + left-over oxygen.

    c + n + a (L - 0.2095) + (L - 1) 0.2095 a, with a the air need and L the air ratio.
    Source: gaslab (atom count).
    """
    gas.check_composition("physics.combustion.dry_products", composition)
    need, share = _oxygen_need(composition), oxygen_in_air()
    nitrogen = _inert(composition) + air_ratio * need / share * (1.0 - share)
    return gas.mean(composition, "carbon") + nitrogen + (air_ratio - 1.0) * need


@calculation(air_ratio=AIR_RATIO)
def co2_dry(composition: Composition, air_ratio):
    """Return the fraction of CO2 in the dry burnt gas [1]. Source: gaslab (atom count).

    >>> round(co2_dry({"methane": 1.0}, 2.0), 4)
    0.0553
    """
    return gas.mean(composition, "carbon") / dry_products(composition, air_ratio)


@calculation(air_ratio=AIR_RATIO)
def oxygen_dry(composition: Composition, air_ratio):
    """Return the fraction of oxygen in the dry burnt gas [1]. Source: gaslab (atom count)."""
    return (air_ratio - 1.0) * _oxygen_need(composition) / dry_products(composition, air_ratio)


@calculation()
def co2_maximum(composition: Composition) -> float:
    """Return the most CO2 the dry burnt gas can hold [1]: burnt with just enough air.

    Source: gaslab (atom count).
    """
    return co2_dry(composition, 1.0)


@calculation(oxygen=between("1", 0.0, 0.205, "oxygen in the dry burnt gas, as a fraction"))
def air_ratio_from_oxygen(composition: Composition, oxygen):
    """Return the air ratio [1] that leaves a fraction of oxygen in the dry burnt gas.

    L = 1 + O2 V0/(S0 (1 - O2/0.2095)), V0 dry products and S0 oxygen need at L = 1.
    Valid below 20.5 % oxygen. Source: gaslab (atom count).
    """
    least = dry_products(composition, 1.0)
    return 1.0 + oxygen * least / (_oxygen_need(composition) * (1.0 - oxygen / oxygen_in_air()))


@calculation()
def products_per_energy(composition: Composition) -> tuple[float, float, float]:
    """Return (kg CO2, kg water, m3 CO2) for each joule of gross heat.

    m3 at 15 °C and 1013.25 mbar, ideal. Source: gaslab (atom count) with iso-6976 heats.

    >>> round(products_per_energy({"methane": 1.0})[0] * 3.6e6, 3)
    0.178
    """
    found = gas.properties(composition)
    carbon, water = gas.mean(composition, "carbon"), gas.mean(composition, "hydrogen") / 2.0
    mole = tables.si("constants", "gas", "molar_constant") * gas.CELSIUS_15 / gas.ATMOSPHERE
    heat = found.molar_cv_gross
    return (
        carbon * tables.si("constants", "carbon-dioxide", "molar_mass") / heat,
        water * tables.si("constants", "water", "molar_mass") / heat,
        carbon * mole / heat,
    )


@calculation(returns="1", co=FRACTION, oxygen=between("1", 0.0, 0.205, "oxygen in the sample, as a fraction"))
def co_air_free(co, oxygen):
    """Return the CO [1] that the sample would hold with no extra air: CO x 0.2095/(0.2095 - O2).

    Valid below 20.5 % oxygen. Source: gaslab (dilution).

    >>> round(co_air_free(90e-6, 0.1105) * 1e6)
    190
    """
    return co * oxygen_in_air() / (oxygen_in_air() - oxygen)


@calculation(returns="1", co=FRACTION, co2=zero_or_more("1", 0.25, "CO2 in the sample, as a fraction"))
def co_ratio(co, co2):
    """Return the ratio CO/CO2 [1]; both as fractions of the same sample. Source: bs-7967.

    >>> round(co_ratio(120e-6, 0.095), 5)
    0.00126
    """
    if (co2 <= 0.0) if isinstance(co2, float) else (co2 <= 0.0).any():
        raise InputError("physics.combustion.co_ratio", "co2", "above 0", co2, "Wait until the probe sees burnt gas.")
    return co / co2
