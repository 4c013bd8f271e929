"""Properties of a gas from its composition: heat, density, Wobbe number, viscosity.

A composition is a mapping of component name to mole fraction; the fractions add up
to one. Heat and density follow ISO 6976:2016, which is exact for the reference
conditions it tabulates; density at other conditions scales its compression factor.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from gaslab import tables
from gaslab.guard import (
    PRESSURE_ABSOLUTE,
    PRESSURE_GAUGE,
    TEMPERATURE,
    InputError,
    between,
    calculation,
    positive,
    zero_or_more,
)
from gaslab.units import ATMOSPHERE, ZERO_CELSIUS

Composition = Mapping[str, float]

SUM_TOLERANCE = 1e-6
CELSIUS_15 = ZERO_CELSIUS + 15.0
# Reference conditions: "burnt at / metered at" in °C, both at 101.325 kPa.
REFERENCES = {"15/15": ("15", "15", CELSIUS_15), "25/0": ("25", "0", ZERO_CELSIUS)}


@functools.cache
def components() -> tuple[str, ...]:
    """Return the names of the components whose data are tabled."""
    return tuple(key for key in tables.keys("gases") if (key, "molar_mass") in tables.facts("gases"))


@functools.cache
def component(name: str, quantity: str) -> float:
    """Return one SI number of a component from data/gases.csv."""
    return tables.si("gases", name, quantity)


@functools.cache
def mixture(key: str) -> Composition:
    """Return the composition tabled under a key such as "mix-a" or "g20".

    >>> dict(mixture("g23"))
    {'methane': 0.925, 'nitrogen': 0.075}
    """
    found = {name: fact.si for (k, name), fact in tables.facts("gases").items() if k == key}
    if not found or key in components():
        known = [k for k in tables.keys("gases") if k not in components()]
        raise InputError("physics.gas.mixture", "key", f"one of {', '.join(known)}", key, "Use a listed gas.")
    return MappingProxyType(found)


def check_composition(function: str, composition: Composition) -> None:
    """Refuse a composition with an unknown component, a bad fraction or a sum that is not one."""

    def refuse(need: str, got: object, fix: str):
        raise InputError(function, "composition", need, got, fix)

    if not isinstance(composition, Mapping) or not composition:
        refuse("component names with mole fractions", composition, 'Give a mapping such as {"methane": 1.0}.')
    for name, fraction in composition.items():
        if name not in components():
            refuse(f"made of {', '.join(components())}", name, "Use the listed names.")
        number = isinstance(fraction, (int, float)) and not isinstance(fraction, bool)
        if not number or not 0.0 <= fraction <= 1.0:
            refuse(f"a mole fraction from 0 to 1 for {name}", fraction, "Give fractions, not per cent.")
    total = math.fsum(composition.values())
    if abs(total - 1.0) > SUM_TOLERANCE:
        refuse("mole fractions that add up to 1", total, "Scale the fractions so that they add up.")


def mean(composition: Composition, quantity: str) -> float:
    """Return the mole-weighted mean of a tabled quantity."""
    return math.fsum(x * component(name, quantity) for name, x in composition.items())


@dataclass(frozen=True)
class GasProperties:
    """What ISO 6976 gives for a mixture, real gas, at the stated reference.

    molar_mass [kg/mol], compression_factor [1], molar_cv_gross/net [J/mol], mass_cv_gross
    [J/kg], cv_gross/net [J/m3], density_standard [kg/m3], relative_density [1],
    wobbe_gross/net [J/m3].
    """

    reference: str
    molar_mass: float
    compression_factor: float
    molar_cv_gross: float
    molar_cv_net: float
    mass_cv_gross: float
    cv_gross: float
    cv_net: float
    density_standard: float
    relative_density: float
    wobbe_gross: float
    wobbe_net: float


def compression_factor(composition: Composition, metered: str = "15") -> float:
    """Return Z = 1 - (sum of x s)^2 [1] at 101.325 kPa and 15 or 0 °C.

    Valid for Z above 0.9. Source: iso-6976.
    """
    return 1.0 - mean(composition, f"summation_factor_{metered}") ** 2


@calculation()
def properties(composition: Composition, reference: str = "15/15") -> GasProperties:
    """Return the properties of a mixture at a reference ("15/15" or "25/0", 101.325 kPa, dry).

    Z = 1 - (sum x s)^2; V = Z R T/p [m3/mol]; H = sum x Hi [J/mol]; net = gross - (h/2) L
    with h hydrogen atoms per molecule and L the heat of condensing water; H/V per m3;
    d = (M/M_air)(Z_air/Z); W = H/sqrt(d). Source: iso-6976.

    >>> round(properties(mixture("g20")).cv_gross / 1e6, 2)
    37.78
    """
    check_composition("physics.gas.properties", composition)
    if reference not in REFERENCES:
        raise InputError("physics.gas.properties", "reference", f"one of {', '.join(REFERENCES)}", reference,
                         "Use a listed reference.")  # fmt: skip
    burnt, metered, temperature = REFERENCES[reference]
    z = compression_factor(composition, metered)
    mass = mean(composition, "molar_mass")
    gross = mean(composition, f"cv_gross_{burnt}")
    water = mean(composition, "hydrogen") / 2.0
    net = gross - water * tables.si("constants", "water", f"condensation_heat_{burnt}")
    volume = z * tables.si("constants", "gas", "molar_constant") * temperature / ATMOSPHERE
    z_air = tables.si("constants", "air", f"compression_factor_{metered}")
    relative = mass / tables.si("constants", "air", "molar_mass") * z_air / z
    root = math.sqrt(relative)
    return GasProperties(
        reference=reference,
        molar_mass=mass,
        compression_factor=z,
        molar_cv_gross=gross,
        molar_cv_net=net,
        mass_cv_gross=gross / mass,
        cv_gross=gross / volume,
        cv_net=net / volume,
        density_standard=mass / volume,
        relative_density=relative,
        wobbe_gross=gross / volume / root,
        wobbe_net=net / volume / root,
    )


@calculation(returns="kg/m3", pressure_absolute=PRESSURE_ABSOLUTE, temperature=TEMPERATURE)
def density(composition: Composition, pressure_absolute, temperature):
    """Return the real-gas density [kg/m3] at an absolute pressure [Pa] and temperature [K].

    rho = p M/(Z R T), with Z - 1 taken from ISO 6976 at 15 °C and scaled by pressure and by
    (288.15/T)^3, how the second virial coefficient of such light gases falls away. Within
    0.05 % of GERG-2008 for natural gas from 0 to 30 °C and up to 75 mbar gauge. Source: iso-6976.
    """
    check_composition("physics.gas.density", composition)
    departure = 1.0 - compression_factor(composition)
    z = 1.0 - departure * pressure_absolute / ATMOSPHERE * (CELSIUS_15 / temperature) ** 3
    constant = tables.si("constants", "gas", "molar_constant")
    return pressure_absolute * mean(composition, "molar_mass") / (z * constant * temperature)


@calculation(returns="kg/m3", pressure_absolute=PRESSURE_ABSOLUTE, temperature=TEMPERATURE)
def air_density(pressure_absolute, temperature):
    """Return the density of dry air [kg/m3] at an absolute pressure [Pa] and temperature [K].

    rho = p M/(Z R T). Source: iso-6976.

    >>> round(air_density(101325.0, 288.15), 4)
    1.2255
    """
    departure = 1.0 - tables.si("constants", "air", "compression_factor_15")
    z = 1.0 - departure * pressure_absolute / ATMOSPHERE
    mass = tables.si("constants", "air", "molar_mass")
    return pressure_absolute * mass / (z * tables.si("constants", "gas", "molar_constant") * temperature)


@calculation(returns="Pa s", temperature=between("K", 263.15, 313.15, "temperature; 15 °C is 288.15 K"))
def viscosity(composition: Composition, temperature):
    """Return the viscosity of a mixture [Pa s] at a temperature [K] and low pressure.

    Herning and Zipperer: mu = sum x mu_i sqrt(M_i) / sum x sqrt(M_i), each
    mu_i = mu_15 (T/288.15)^n. Within about 2 % for natural gas, 5 % with hydrogen.
    Source: coolprop.

    >>> round(viscosity(mixture("g20"), 288.15) * 1e5, 3)
    1.088
    """
    check_composition("physics.gas.viscosity", composition)
    top = bottom = 0.0
    for name, x in composition.items():
        weight = x * math.sqrt(component(name, "molar_mass"))
        warmth = (temperature / CELSIUS_15) ** component(name, "viscosity_exponent")
        top = top + weight * component(name, "viscosity") * warmth
        bottom = bottom + weight
    return top / bottom


@calculation(
    returns="1",
    pressure_gauge=PRESSURE_GAUGE,
    temperature=TEMPERATURE,
    altitude=between("m", -100.0, 1_000.0, "height above sea level"),
)
def volume_conversion_factor(pressure_gauge, temperature, altitude):
    """Return standard volume over metered volume [1]: 15 °C, 1013.25 mbar over the meter's own.

    (1013.25 + p - 0.12021 h)/1013.25 x 288.15/T, with p [mbar] and h [m]. With 21 mbar,
    12.2 °C and about 67 m it gives 1.02266, against the 1.02264 printed on gas bills: how
    that figure was rounded is not known. Source: thermal-energy-regs.
    The arguments are SI as everywhere: pressure_gauge [Pa], temperature [K].

    >>> round(volume_conversion_factor(2100.0, 285.35, 67.4), 3)
    1.023
    """
    fall = tables.si("constants", "altitude", "pressure_fall") * altitude
    return (ATMOSPHERE + pressure_gauge - fall) / ATMOSPHERE * CELSIUS_15 / temperature


@calculation(
    returns="J",
    volume_metered=zero_or_more("m3", 1e7, "volume on the meter"),
    cv_gross=positive("J/m3", 2e8, "gross calorific value; 39 MJ/m3 is 3.9e7 J/m3"),
    volume_factor=between("1", 0.8, 1.2, "volume conversion factor; bills use 1.02264"),
)
def billing_energy(volume_metered, cv_gross, volume_factor):
    """Return the energy on a gas bill [J]: metered volume x factor x gross CV.

    Divide by 3.6e6 for kWh. Source: thermal-energy-regs. E = V x factor x CV, with V [m3] and CV [J/m3].

    >>> round(billing_energy(2.0, 39.3e6, 1.02264) / 3.6e6, 1)
    22.3
    """
    return volume_metered * volume_factor * cv_gross
