"""Gas shut in the pipework: one step of its mass balance, and the gauge on its hose.

The amount of gas is counted as the volume it would fill outside, at the barometer and
temperature of the start. The ways in and out add up by the same weights as the amount
does, so no gas is made or lost by the arithmetic, whatever the step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

LAMINAR_BELOW = 5.0  # Pa: below this a small hole no longer passes gas by the square root law
TOLERANCE = 0.004  # Pa: error allowed to one step; a fine gauge shows 1 Pa
SMALLEST_STEP = 1e-6  # s
ROUNDS = 12  # of Newton: it settles in three or four, or not at all
_GAMMA = 2.0 - math.sqrt(2.0)
_WEIGHT = math.sqrt(2.0) / 4.0
_DIAGONAL = _GAMMA / 2.0
# Difference between this rule and the third-order rule on the same stages.
_ERROR = ((1.0 - _WEIGHT) / 3.0 - _WEIGHT, (3.0 * _WEIGHT + 1.0) / 3.0 - _WEIGHT, -2.0 * _DIAGONAL / 3.0)


class BalanceError(ArithmeticError):
    """The pressure in the pipe could not be worked out."""


@dataclass(frozen=True)
class Air:
    """What surrounds the trapped gas over time: temperature inside the pipe and barometer, from time 0.

    T(t) = temperature + rate min(t, rate_ends) + disturbance exp(-(t - disturbed_at)/time_constant) [K]
    B(t) = barometer + barometer_rate t [Pa]
    """

    temperature: float
    rate: float
    rate_ends: float
    barometer: float
    barometer_rate: float
    disturbance: float = 0.0
    disturbed_at: float = 0.0
    time_constant: float = 20.0

    def at(self, time: float) -> tuple[float, float]:
        """Return (gas temperature [K], barometer [Pa]) at a time [s]."""
        warmed = self.temperature + self.rate * min(time, self.rate_ends)
        if self.disturbance:
            warmed += self.disturbance * math.exp(-(time - self.disturbed_at) / self.time_constant)
        return warmed, self.barometer + self.barometer_rate * time


@dataclass(frozen=True)
class Ways:
    """How gas gets in and out of the shut pipework, as volumes at outside pressure.

    let_by C [m3/(s Pa)] from supply_pressure [Pa] past the shut control; leak C [m3/(s Pa)]
    through cracks (laminar, q = C p); hole k [m3/s at 1 Pa] through open taps (q = k sqrt p).
    """

    let_by: float
    supply_pressure: float
    leak: float
    hole: float

    def flows(self, pressure: float) -> tuple[float, float, float]:
        """Return (in by let-by, out by leak, out by open taps) [m3/s] at a gauge pressure [Pa]."""
        through = 0.0
        if self.hole:
            through = self.hole * pressure / math.sqrt(math.hypot(pressure, LAMINAR_BELOW))
        return self.let_by * (self.supply_pressure - pressure), self.leak * pressure, through

    def slope(self, pressure: float) -> float:
        """Return how fast the net inflow falls as the pressure rises [m3/(s Pa)], never negative."""
        steep = 0.0
        if self.hole:
            size = math.hypot(pressure, LAMINAR_BELOW)
            steep = self.hole / math.sqrt(size) * (1.0 - 0.5 * (pressure / size) ** 2)
        return self.let_by + self.leak + steep


@dataclass(frozen=True)
class Volume:
    """A closed volume [m3], and the outside pressure [Pa] and temperature [K] that amounts are counted at."""

    size: float
    outside_pressure: float
    outside_temperature: float

    def amount(self, pressure: float, temperature: float, barometer: float) -> float:
        """Return the gas inside [m3 outside] at a gauge pressure [Pa]: V (B + p)/B0 T0/T."""
        return (
            self.size
            * (barometer + pressure)
            / self.outside_pressure
            * self.outside_temperature
            / temperature
        )

    def pressure(self, amount: float, temperature: float, barometer: float) -> float:
        """Return the gauge pressure [Pa] of an amount [m3 outside]."""
        return amount * self.stiffness(temperature) - barometer

    def stiffness(self, temperature: float) -> float:
        """Return the pressure that one more cubic metre outside would add [Pa/m3]."""
        return self.outside_pressure * temperature / (self.size * self.outside_temperature)


def _stage(
    volume: Volume,
    ways: Ways,
    known: float,
    weight: float,
    guess: float,
    temperature: float,
    barometer: float,
):
    """Return (pressure, flows) where amount = known + weight (inflow - outflow); None if Newton circles."""
    stiffness = volume.stiffness(temperature)
    pressure = guess
    for _ in range(ROUNDS):
        gas_in, leak, hole = ways.flows(pressure)
        miss = (known + weight * (gas_in - leak - hole)) * stiffness - barometer - pressure
        change = miss / (1.0 + weight * stiffness * ways.slope(pressure))
        pressure += change
        if abs(change) < 1e-8 * (1.0 + abs(pressure)):
            return pressure, ways.flows(pressure)
    return None


def _try_step(volume: Volume, ways: Ways, air: Air, amount: float, time: float, step: float, start):
    """Return (middle flows, end pressure, end flows, error [Pa]) of one step, or None if it is far too long.

    `start` is (pressure, flows) at its beginning. A trapezium to the middle, then backward difference.
    """
    pressure, first = start
    net = first[0] - first[1] - first[2]
    known = amount + _DIAGONAL * step * net
    reached = _stage(volume, ways, known, _DIAGONAL * step, pressure, *air.at(time + _GAMMA * step))
    if reached is None:
        return None
    middle_pressure, middle = reached
    net_middle = middle[0] - middle[1] - middle[2]
    known = amount + _WEIGHT * step * (net + net_middle)
    at_end = air.at(time + step)
    reached = _stage(volume, ways, known, _DIAGONAL * step, middle_pressure, *at_end)
    if reached is None:
        return None
    end_pressure, last = reached
    net_last = last[0] - last[1] - last[2]
    error = step * abs(_ERROR[0] * net + _ERROR[1] * net_middle + _ERROR[2] * net_last)
    return middle, end_pressure, last, error * volume.stiffness(at_end[0])


def advance(
    volume: Volume,
    ways: Ways,
    air: Air,
    amount: float,
    start: float,
    end: float,
    tolerance: float = TOLERANCE,
) -> tuple[float, tuple[float, ...], list[tuple[float, float]]]:
    """Return (amount, totals in / leaked / through holes, pressures passed) after start..end [s].

    The pressures passed are (time, pressure) pairs, the last one at `end`. The rule is
    implicit and its step follows its own error: it stays steady however large the hole,
    and long where little happens. A step that fails is tried again, shorter.
    """
    time, step, totals = start, end - start, [0.0, 0.0, 0.0]
    pressure = volume.pressure(amount, *air.at(time))
    passed, first = [(time, pressure)], ways.flows(pressure)
    while time < end:
        step = min(step, end - time)
        tried = _try_step(volume, ways, air, amount, time, step, (pressure, first))
        if tried is None or (tried[3] > tolerance and step > SMALLEST_STEP):
            if step <= SMALLEST_STEP:
                raise BalanceError(f"no pressure fits the trapped gas near {pressure:.1f} Pa")
            step *= 0.2 if tried is None else max(0.2, 0.9 * (tolerance / tried[3]) ** (1.0 / 3.0))
            continue
        middle, pressure, last, error = tried
        for way in range(3):
            totals[way] += step * (_WEIGHT * (first[way] + middle[way]) + _DIAGONAL * last[way])
        net = [flows[0] - flows[1] - flows[2] for flows in (first, middle, last)]
        amount += step * (_WEIGHT * (net[0] + net[1]) + _DIAGONAL * net[2])
        time = end if step >= end - time else time + step
        first = last
        passed.append((time, pressure))
        step *= 5.0 if error == 0.0 else min(5.0, 0.9 * (tolerance / error) ** (1.0 / 3.0))
    return amount, tuple(totals), passed


def follow(
    shown: float, start_pressure: float, end_pressure: float, step: float, time_constant: float
) -> float:
    """Return what a gauge shows after it followed a pressure that ran in a straight line.

    A first-order lag, exact for a straight line: s(t) = p(t) - r tau + (s0 - p0 + r tau) exp(-t/tau).
    """
    if step == 0.0 or time_constant == 0.0:
        return shown if step == 0.0 else end_pressure
    behind = (end_pressure - start_pressure) / step * time_constant
    return end_pressure - behind + (shown - start_pressure + behind) * math.exp(-step / time_constant)


def follow_fading(
    shown: float, settled: float, offset: float, fading: float, step: float, time_constant: float
) -> float:
    """Return what a gauge shows after it followed a pressure that fades to `settled`.

    p(t) = settled + offset exp(-t/fading). First-order lag tau, exact:
    s(t) = settled + A exp(-t/fading) + (s0 - settled - A) exp(-t/tau), A = offset fading/(fading - tau).
    """
    if time_constant == 0.0:
        return settled + offset * math.exp(-step / fading)
    if abs(fading - time_constant) < 1e-6 * fading:  # the two fade alike: step aside from 0/0
        time_constant *= 1.0 + 2e-6
    part = offset * fading / (fading - time_constant)
    rest = shown - settled - part
    return settled + part * math.exp(-step / fading) + rest * math.exp(-step / time_constant)
