"""Loss of pressure along one run of pipe, and how much gas a run carries.

Darcy's formula with three ranges of Reynolds number:

* below 2000 laminar: friction factor 64/Re (Hagen-Poiseuille);
* above 4000 turbulent: Colebrook's formula, solved to rounding error;
* between them a smooth blend of the two, mostly turbulent from 2600. The blend is this
  course's own choice: flow there flickers between the two kinds and no formula is
  agreed. It has no step and no corner, and more flow always means more loss. Its turbulent
  share is s^2 (3 - 2 s) with s = 1 - ((4000 - Re)/2000)^5.

Short formulae (Pole, Spitzglass) differ from this on small copper tube because each fixes the
friction factor, or lets it hang on the bore alone. They were fitted to mains. In a 22 mm tube at
Re 4000 the true factor is half as high again as Pole's (+24 % flow, unsafe), while Spitzglass
holds one far too high (20 to 40 % low below one inch). tests/test_short_formulae.py has the sums.

Gas is taken as incompressible, which holds while the loss is a small part of the
absolute pressure (a few mbar in 1000). Formulas work on numbers and on arrays.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from gaslab import units
from gaslab.guard import Number, between, calculation, positive, zero_or_more

LAMINAR_LIMIT = 2000.0  # Reynolds number below which flow is laminar
TURBULENT_LIMIT = 4000.0  # Reynolds number above which flow is turbulent
GRAVITY = 9.80665  # m/s2, standard, by definition

FLOW = zero_or_more("m3/s", 1.0, "gas flow; 1 m3/h is 0.000278 m3/s")
LENGTH = zero_or_more("m", 1_000.0, "length of pipe")
BORE = between("m", 0.001, 0.2, "inside diameter of the pipe; 20.2 mm is 0.0202 m")
ROUGHNESS = zero_or_more("m", 0.001, "roughness of the pipe wall; steel is about 0.000046 m")
DENSITY = between("kg/m3", 0.05, 5.0, "density of the gas")
VISCOSITY = between("Pa s", 1e-6, 1e-4, "viscosity of the gas; natural gas is about 1.08e-5 Pa s")
LOSS = zero_or_more("Pa", 20_000.0, "loss of pressure along the run; 100 Pa is 1 mbar")
RUN_LENGTH = between("m", 0.001, 1_000.0, "length of pipe")


def _colebrook(reynolds, relative_roughness, log):
    """Return Darcy's friction factor: 1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f))).

    `log` is math.log for numbers and np.log for arrays: the formula stands once.
    Haaland's explicit formula starts within 1.5 %; Newton squares the error at each
    step, so three steps reach rounding error.
    """
    scale = 2.0 / math.log(10.0)
    rough, viscous = relative_roughness / 3.7, 2.51 / reynolds
    inverse_root = -0.9 * scale * log(rough**1.11 + 6.9 / reynolds)
    for _ in range(3):
        inside = rough + viscous * inverse_root
        error = inverse_root + scale * log(inside)
        inverse_root = inverse_root - error / (1.0 + scale * viscous / inside)
    return 1.0 / (inverse_root * inverse_root)


def _blend(reynolds, turbulent):
    """Return f Re between the limits: from 64 to Colebrook's value, most of the way by Re 2600.

    It goes over early because pipe with fittings does, and because more loss is the safe
    error. Colebrook's factor lies above 64/Re all the way, so the blend only ever rises.
    """
    left = (TURBULENT_LIMIT - reynolds) / (TURBULENT_LIMIT - LAMINAR_LIMIT)
    part = 1.0 - left**5
    weight = part * part * (3.0 - 2.0 * part)  # level at both ends, so no corner at either
    return (1.0 - weight) * 64.0 + weight * turbulent


def friction_times_reynolds(reynolds: float | np.ndarray, relative_roughness: float | np.ndarray) -> Any:
    """Return f Re, which stays finite (64) down to no flow at all. Unguarded; for inner loops."""
    if isinstance(reynolds, np.ndarray) or isinstance(relative_roughness, np.ndarray):
        return _friction_times_reynolds_of_array(reynolds, relative_roughness)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0
    turbulent = reynolds * _colebrook(reynolds, relative_roughness, math.log)
    return turbulent if reynolds >= TURBULENT_LIMIT else _blend(reynolds, turbulent)


def _friction_times_reynolds_of_array(reynolds, relative_roughness):
    reynolds, relative_roughness = np.broadcast_arrays(reynolds, relative_roughness)
    product = np.full(reynolds.shape, 64.0)
    moving = reynolds > LAMINAR_LIMIT
    fast = reynolds[moving]
    turbulent = fast * _colebrook(fast, relative_roughness[moving], np.log)
    product[moving] = np.where(fast >= TURBULENT_LIMIT, turbulent, _blend(fast, turbulent))
    return product


@calculation(returns="m/s", flow=FLOW, bore=BORE)
def velocity(flow, bore):
    """Return the mean speed of the gas, v = 4 q / (pi d^2) [m/s].

    q flow [m3/s], d bore [m]. Source: gaslab (flow over area).

    >>> round(velocity(3.0 / 3600, 0.0202), 2)
    2.6
    """
    return 4.0 * flow / (math.pi * bore * bore)


@calculation(returns="1", flow=FLOW, bore=BORE, density=DENSITY, viscosity=VISCOSITY)
def reynolds_number(flow, bore, density, viscosity):
    """Return Re = 4 q rho / (pi d mu), which tells laminar from turbulent flow.

    q flow [m3/s], d bore [m], rho density [kg/m3], mu viscosity [Pa s]. Source: gaslab (definition).

    >>> round(reynolds_number(1.0 / 3600, 0.0136, 0.7353, 1.0877e-5))
    1758
    """
    return 4.0 * flow * density / (math.pi * bore * viscosity)


@calculation(
    returns="1",
    reynolds=positive("1", 1e8, "Reynolds number"),
    relative_roughness=Number("1", 0.0, 0.05, "roughness divided by bore"),
)
def friction_factor(reynolds, relative_roughness):
    """Return Darcy's friction factor f (four times Fanning's).

    Laminar 64/Re to Re 2000; Colebrook from Re 4000; a smooth blend between (see the
    module). Valid for Re up to 1e8 and roughness up to 0.05 of the bore.
    Source: moody-1944; the blend is gaslab's.

    >>> friction_factor(1000.0, 0.0)
    0.064
    >>> round(friction_factor(1e5, 1e-4), 5)
    0.01851
    """
    return friction_times_reynolds(reynolds, relative_roughness) / reynolds


@calculation(
    returns="Pa",
    flow=FLOW,
    length=LENGTH,
    bore=BORE,
    roughness=ROUGHNESS,
    density=DENSITY,
    viscosity=VISCOSITY,
)
def pressure_loss(flow, length, bore, roughness, density, viscosity):
    """Return the loss by friction, f (L/d) rho v^2 / 2 [Pa]: Darcy's formula.

    q flow [m3/s], L length with the fittings' equivalent length [m], d bore [m],
    roughness [m], rho density [kg/m3], mu viscosity [Pa s]. Arrays broadcast.
    Valid while the loss is small beside the absolute pressure. It is computed as
    (f Re) mu L v / (2 d^2), the same thing without dividing by a flow of nothing. Source: moody-1944.

    >>> round(pressure_loss(1.0 / 3600, 1.0, 0.0136, 0.0, 0.7353, 1.0877e-5), 2)  # laminar
    3.6
    """
    speed = 4.0 * flow / (math.pi * bore * bore)
    reynolds = speed * bore * density / viscosity
    product = friction_times_reynolds(reynolds, roughness / bore)
    return product * viscosity * length * speed / (2.0 * bore * bore)


@calculation(
    returns="m3/s",
    pressure_loss=LOSS,
    length=RUN_LENGTH,
    bore=BORE,
    roughness=ROUGHNESS,
    density=DENSITY,
    viscosity=VISCOSITY,
)
def discharge(pressure_loss, length, bore, roughness, density, viscosity):
    """Return the flow [m3/s] that loses `pressure_loss` [Pa] along the run.

    The function `pressure_loss` turned round, with the same symbols. K = Re sqrt(f) follows
    from the loss alone, K^2 = 2 d^3 rho loss / (L mu^2). Laminar flow is then Re = K^2/64,
    and Colebrook's formula needs no iteration. Only in the blend is Re searched for, by
    halving. Arrays broadcast. Length and bore [m], density [kg/m3], viscosity [Pa s]. Source: moody-1944.

    >>> flow = discharge(100.0, 15.0, 0.0202, 0.0, 0.7353, 1.0877e-5)
    >>> round(pressure_loss(flow, 15.0, 0.0202, 0.0, 0.7353, 1.0877e-5), 9)
    100.0
    """
    strength = 2.0 * bore**3 * density * pressure_loss / (length * viscosity**2)
    strength, relative = np.broadcast_arrays(np.asarray(strength, float), np.asarray(roughness / bore, float))
    reynolds = strength / 64.0
    moving = reynolds > LAMINAR_LIMIT
    root = np.sqrt(strength[moving])
    turbulent = -2.0 * root * np.log10(relative[moving] / 3.7 + 2.51 / root)
    blended = turbulent < TURBULENT_LIMIT
    turbulent[blended] = _search_blend(strength[moving][blended], relative[moving][blended])
    reynolds = np.array(reynolds)
    reynolds[moving] = turbulent
    flow = reynolds * math.pi * bore * viscosity / (4.0 * density)
    return flow if flow.ndim else float(flow)


def _search_blend(strength, relative_roughness):
    """Return Re in the blend where (f Re) Re = `strength`, which rises with Re."""
    low = np.full(strength.shape, LAMINAR_LIMIT)
    high = np.full(strength.shape, TURBULENT_LIMIT)
    for _ in range(52):  # 2000 / 2^52 is below the rounding of Re
        middle = 0.5 * (low + high)
        under = friction_times_reynolds(middle, relative_roughness) * middle < strength
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return 0.5 * (low + high)


@calculation(
    returns="Pa",
    rise=between("m", -1_000.0, 1_000.0, "height gained along the run; a fall is negative"),
    gas_density=DENSITY,
    air_density=between("kg/m3", 0.5, 2.0, "density of the air outside the pipe"),
)
def static_gain(rise, gas_density, air_density):
    """Return the gauge pressure gained by rising, (rho_air - rho_gas) g h [Pa].

    h rise [m]. Natural gas is lighter than air, so it gains about 0.05 mbar a metre.
    Densities [kg/m3]; g is 9.80665 m/s2. Source: gaslab (weight of the columns).

    >>> round(static_gain(1.0, 0.7353, 1.2255), 2)
    4.81
    """
    return (air_density - gas_density) * GRAVITY * rise


@calculation(
    returns="m3/s",
    pressure_loss=LOSS,
    length=RUN_LENGTH,
    bore=BORE,
    relative_density=between("1", 0.05, 3.0, "density of the gas against air"),
)
def pole_discharge(pressure_loss, length, bore, relative_density):
    """Return Pole's short formula, Q = 0.0071 sqrt(d^5 h / (s L)), in m3/s.

    In it Q [m3/h], d [mm], h [mbar], L [m]. NOT SAFE for small copper tube: it holds
    Fanning's friction factor at 0.0065, which fits large mains. In 22 mm tube at
    1 mbar over 15 m the true factor is half as high again, and Pole promises 24 % more
    gas than the tube carries. Spitzglass errs the other way there (20 to 40 % low).
    Kept to show why a formula must not leave the sizes it was made for.
    Source: common practice; the constant was checked against Darcy's formula.
    The arguments are SI as everywhere: pressure_loss [Pa], length and bore [m], flow [m3/s].

    >>> round(pole_discharge(100.0, 15.0, 0.0202, 0.6) * 3600, 2)
    4.34
    """
    millimetres, millibar = bore * 1000.0, pressure_loss / 100.0
    return 0.0071 * (millimetres**5 * millibar / (relative_density * length)) ** 0.5 / units.HOUR


@calculation(returns="m3/s", pressure_loss=LOSS, length=RUN_LENGTH, bore=BORE)
def low_pressure_equation(pressure_loss, length, bore):
    """Return the flow [m3/s] of natural gas (relative density 0.60) by an overseas code's equation.

    D = Q^0.381 / (19.17 (H / (0.6094 L))^0.206), with Q [ft3/h], D [in], H [in w.c.],
    L [ft]. Valid below 1.5 psi. A second opinion on Darcy's formula. Source: ifgc-2018,
    equation from memory; it reproduces the code's published tables within 1 %.
    The arguments are SI as everywhere: pressure_loss [Pa], length and bore [m].

    >>> round(low_pressure_equation(100.0, 15.0, 0.0202) * 3600, 1)
    3.5
    """
    inches, feet = units.convert(bore, "m", "in"), units.convert(length, "m", "ft")
    column = units.convert(pressure_loss, "Pa", "in w.c.")
    cubic_feet = (19.17 * inches * (column / (0.6094 * feet)) ** 0.206) ** (1.0 / 0.381)
    return units.convert(cubic_feet, "ft3/h", "m3/s")
