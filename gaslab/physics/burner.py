"""Gas through a burner's injector, and the heat it brings.

An injector is a fixed hole: flow goes with the square root of the pressure across it.
"""

from __future__ import annotations

import math

from gaslab.guard import between, calculation, positive, zero_or_more

PRESSURE = zero_or_more("Pa", 20_000.0, "gauge pressure at the injector; 2000 Pa is 20 mbar")
DENSITY = between("kg/m3", 0.05, 5.0, "density of the gas at the injector")
DISCHARGE = between("1", 0.3, 1.0, "discharge coefficient; about 0.8 for a hob injector")
FLOW = zero_or_more("m3/s", 1.0, "gas flow; 1 m3/h is 0.000278 m3/s")
CV = positive("J/m3", 2e8, "calorific value; 39 MJ/m3 is 3.9e7 J/m3")
WOBBE = positive("J/m3", 2e8, "Wobbe number; 50.72 MJ/m3 is 5.072e7 J/m3")


@calculation(
    returns="m3/s",
    diameter=positive("m", 0.05, "diameter of the injector hole; 1.28 mm is 0.00128 m"),
    pressure_gauge=PRESSURE,
    density=DENSITY,
    discharge_coefficient=DISCHARGE,
)
def orifice_flow(diameter, pressure_gauge, density, discharge_coefficient):
    """Return the flow through an injector [m3/s] at the gas's own conditions.

    q = Cd A sqrt(2 p/rho), A = pi d^2/4 [m2]; p [Pa], rho [kg/m3]. For pressures small beside the
    atmosphere, where the gas does not yet thin out in the hole. Source: gaslab (Bernoulli). d diameter [m].
    """
    area = math.pi * diameter * diameter / 4.0
    return discharge_coefficient * area * (2.0 * pressure_gauge / density) ** 0.5


@calculation(
    returns="m",
    flow=positive("m3/s", 1.0, "gas flow; 1 m3/h is 0.000278 m3/s"),
    pressure_gauge=positive("Pa", 20_000.0, "gauge pressure at the injector; 2000 Pa is 20 mbar"),
    density=DENSITY,
    discharge_coefficient=DISCHARGE,
)
def injector_diameter(flow, pressure_gauge, density, discharge_coefficient):
    """Return the hole [m] that passes a flow [m3/s]: the inverse of `orifice_flow`. Source: gaslab.

    The pressure is a gauge pressure [Pa]; density of the gas [kg/m3].
    """
    area = flow / (discharge_coefficient * (2.0 * pressure_gauge / density) ** 0.5)
    return (4.0 * area / math.pi) ** 0.5


@calculation(returns="W", flow=FLOW, cv=CV)
def heat_input(flow, cv):
    """Return the heat input [W] of a flow [m3/s]; it is gross or net as `cv` [J/m3] is. Source: rating-guide."""
    return flow * cv


@calculation(returns="m3/s", heat_input=zero_or_more("W", 1e7, "heat input; 1 kW is 1000 W"), cv=CV)
def flow_for_input(heat_input, cv):
    """Return the gas flow [m3/s] for a heat input [W] on the same basis as `cv` [J/m3].

    Source: rating-guide.

    >>> round(flow_for_input(3000.0, 37.78e6) * 3.6e6, 1)
    285.9
    """
    return heat_input / cv


@calculation(
    returns="W",
    rated_input=zero_or_more("W", 1e7, "heat input on the data plate"),
    rated_pressure=positive("Pa", 20_000.0, "pressure the plate is stated at"),
    pressure_gauge=PRESSURE,
    rated_wobbe=WOBBE,
    wobbe=WOBBE,
)
def input_at(rated_input, rated_pressure, pressure_gauge, rated_wobbe, wobbe):
    """Return the heat input [W] at another pressure [Pa] and Wobbe number [J/m3].

    Q = Q0 sqrt(p/p0) W/W0, on the basis of the plate. Source: gaslab (orifice law).

    >>> round(input_at(100.0, 2000.0, 1700.0, 5.072e7, 5.072e7), 1)
    92.2
    """
    return rated_input * (pressure_gauge / rated_pressure) ** 0.5 * wobbe / rated_wobbe
