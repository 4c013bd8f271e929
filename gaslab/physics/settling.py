"""How one tree of pipes settles: the steps behind `network.operating_point`.

Plain numbers, not arrays: a kitchen has half a dozen runs, and a live screen solves
them many times a second. The formula of a run is `flow.pressure_loss`, as everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from gaslab.guard import InputError
from gaslab.physics import flow as pipe

if TYPE_CHECKING:
    from gaslab.physics.network import Tree

Supply = Callable[[float], float]
"""Gauge pressure [Pa] at the start of the first run for a total flow [m3/s]."""


class Settling:
    """One tree in plain numbers, and the steps that bring pressures and flows to agree."""

    TOLERANCE = 1e-10  # of the pressures at play: where the steps stop
    ROUNDING = 1e-9  # of the same: good enough when rounding lets no step bring it nearer
    STEPS = 80

    def __init__(
        self, tree: Tree, orifices: list[float], gas_density: float, viscosity: float, air_density: float
    ):
        self.order, self.parent, self.orifices = tree.order, tree.parent, orifices
        self.pipes = list(zip(tree.length.tolist(), tree.bore.tolist(), tree.roughness.tolist(), strict=True))
        self.gas_density, self.viscosity = gas_density, viscosity
        self.gain = [pipe.static_gain.bare(rise, gas_density, air_density) for rise in tree.rise.tolist()]
        self.least = 1e-3 + sum(abs(gain) for gain in self.gain)  # Pa at play even with no supply

    def loss(self, run: int, flow: float) -> float:
        """Return the loss [Pa] of a run at a flow [m3/s]; it has the sign of the flow."""
        length, bore, roughness = self.pipes[run]
        loss = pipe.pressure_loss.bare(abs(flow), length, bore, roughness, self.gas_density, self.viscosity)
        return math.copysign(loss, flow)

    def carry(
        self, loads: list[float], supply: Supply
    ) -> tuple[list[float], list[float], list[float], float]:
        """Return flow, loss and pressure of each run, and the inlet pressure, for given loads."""
        flow = list(loads)
        for run in reversed(self.order[1:]):
            flow[self.parent[run]] += flow[run]
        inlet = supply(flow[self.order[0]])
        loss = [self.loss(run, through) for run, through in enumerate(flow)]
        pressure = [inlet] * len(flow)
        for run in self.order:
            above = pressure[self.parent[run]] if self.parent[run] >= 0 else inlet
            pressure[run] = above - loss[run] + self.gain[run]
        return flow, loss, pressure, inlet

    def newton(self, supply: Supply, start: list[float] | None = None) -> list[float] | None:
        """Return the loads at which every burner fits its pressure, or None if no step gets there."""
        if start is None:
            _, _, pressure, _ = self.carry([0.0] * len(self.orifices), supply)
            start = [k * math.sqrt(abs(p)) for k, p in zip(self.orifices, pressure, strict=True)]
        trial, loads, nearest, scale = start, start, math.inf, 0.0
        for _ in range(self.STEPS):
            flow, loss, pressure, inlet = self.carry(trial, supply)
            # What each burner needs for the flow it takes, against what it has.
            miss = max(
                (
                    abs(q * abs(q) / (k * k) - p)
                    for q, k, p in zip(trial, self.orifices, pressure, strict=True)
                    if k
                ),
                default=0.0,
            )
            if miss < nearest:
                loads, nearest, scale = trial, miss, abs(inlet) + self.least
                if miss <= self.TOLERANCE * scale:
                    return loads
                trial = self.straightened(trial, flow, loss, inlet, supply)
            else:
                trial = [0.5 * (new + old) for new, old in zip(trial, loads, strict=True)]
        return loads if nearest <= self.ROUNDING * scale else None

    def straightened(
        self, loads: list[float], flow: list[float], loss: list[float], inlet: float, supply: Supply
    ) -> list[float]:
        """Return the loads that would agree if every curve were its tangent here (a Newton step).

        Up the tree, what is taken at the end of a run is give + slope x (pressure there).
        Down it, the pressures follow.
        """
        count, root = len(loads), self.order[0]
        # A burner's tangent: it takes idle + steep x pressure. The floor keeps a still burner finite.
        steep = [
            k * k / (2.0 * max(abs(q), 1e-9 * k)) if k else 0.0
            for k, q in zip(self.orifices, loads, strict=True)
        ]
        idle = [
            q - slope * q * abs(q) / (k * k) if k else 0.0
            for q, slope, k in zip(loads, steep, self.orifices, strict=True)
        ]
        give, slope = list(idle), list(steep)  # of everything beyond the end of each run
        drag, lift, damping = ([math.nan] * count for _ in range(3))  # filled run by run
        for run in reversed(self.order):
            nudge = 1e-7 * abs(flow[run]) + 1e-12
            drag[run] = (self.loss(run, flow[run] + nudge) - loss[run]) / nudge
            lift[run] = self.gain[run] - loss[run] + drag[run] * flow[run]
            damping[run] = 1.0 + slope[run] * drag[run]
            if run != root:
                give[self.parent[run]] += (give[run] + slope[run] * lift[run]) / damping[run]
                slope[self.parent[run]] += slope[run] / damping[run]
        nudge = 1e-7 * abs(flow[root]) + 1e-12
        sag = (supply(flow[root] + nudge) - inlet) / nudge
        total = give[root] + slope[root] * (lift[root] + inlet - sag * flow[root])
        total /= damping[root] - slope[root] * sag
        end = [inlet + sag * (total - flow[root])] * count
        for run in self.order:
            above = end[root if run == root else self.parent[run]]
            end[run] = (above + lift[run] - drag[run] * give[run]) / damping[run]
        return [rest + slope * pressure for rest, slope, pressure in zip(idle, steep, end, strict=True)]

    def bisect(self, supply: Supply) -> list[float]:
        """Return the loads by halving the total flow: sure, but slow. For curves with corners."""

        def taken(inlet: float) -> list[float]:
            loads = self.newton(lambda total: inlet)
            if loads is None:
                raise InputError(
                    "physics.network.operating_point",
                    "orifices",
                    "burners that settle on this tree",
                    f"none that did at a supply of {inlet:g} Pa",
                    "Check bores, lengths and burner sizes.",
                )
            return loads

        loads = taken(supply(0.0))
        low = 0.0
        high = max(sum(loads), 0.0)
        for _ in range(60):
            middle = 0.5 * (low + high)
            loads = taken(supply(middle))
            low, high = (middle, high) if sum(loads) > middle else (low, middle)
        settled = self.newton(supply, loads)  # the last digits, which a steep curve needs
        if settled is None:
            raise InputError(
                "physics.network.operating_point",
                "supply",
                "a curve that falls with flow and has no jump",
                f"one that jumps or rises near {middle:g} m3/s",
                "Join the parts of the curve.",
            )
        return settled
