"""A tree of pipe runs from the meter to the appliances: flow and pressure everywhere.

Every run has one run it hangs on (its parent), so the flow in a run is the sum of
the loads beyond it: no iteration. `solve` takes the loads as given, for one design
or many at once. `operating_point` finds the loads too: regulator, pipes and burners
settle together, since a burner passes k sqrt(p) and every flow lowers p.

The arithmetic of a run is `flow.pressure_loss` in both. The sweeps differ (see
`settling`) because `solve` works on arrays, while one small tree is far quicker in
plain numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from gaslab.guard import PRESSURE_GAUGE, InputError, between, calculation, checked, zero_or_more
from gaslab.physics import flow as pipe
from gaslab.physics.settling import Settling

# A droop curve may dive far below zero at flows that are tried and thrown away again.
SUPPLY = between("Pa", -1e9, 20_000.0, "gauge pressure of the supply; 100 Pa is 1 mbar")
FEW_RUNS = 40  # up to so many runs one design is walked in plain numbers
AIR_DENSITY = 1.2255  # kg/m3 at 15 °C and 1013.25 mbar; source: CoolProp
RISE = between("m", -1_000.0, 1_000.0, "height gained along the run; a fall is negative")
LOADS = zero_or_more("m3/s", 1.0, "gas taken at the end of each run; 1 m3/h is 0.000278 m3/s")


@dataclass(frozen=True, eq=False)
class Tree:
    """Runs of pipe by number. `parent[i]` is the run that run i hangs on; -1 for the first run.

    length [m] with the fittings' equivalent length, bore [m], roughness [m] and rise [m]
    are arrays whose last axis is the run, so many designs can share one tree. Runs may
    stand in any order. `order` lists parents before their children.
    """

    parent: tuple[int, ...]
    length: np.ndarray
    bore: np.ndarray
    roughness: np.ndarray
    rise: np.ndarray
    order: tuple[int, ...] = field(init=False)

    def __post_init__(self):
        object.__setattr__(self, "parent", tuple(self.parent))
        object.__setattr__(self, "order", _order(self.parent))
        specs = {"length": pipe.LENGTH, "bore": pipe.BORE, "roughness": pipe.ROUGHNESS, "rise": RISE}
        for name, spec in specs.items():
            values = np.asarray(checked("physics.network.Tree", name, spec, getattr(self, name)))
            _need_run_axis("physics.network.Tree", name, values, len(self.parent))
            object.__setattr__(self, name, values)


def _order(parent: tuple[int, ...]) -> tuple[int, ...]:
    """Return the runs, parents before children; refuse what is not one tree."""

    def refuse(need: str, got: object, fix: str):
        raise InputError("physics.network.Tree", "parent", need, got, fix)

    count = len(parent)
    children: list[list[int]] = [[] for _ in range(count)]
    roots: list[int] = []
    for run, above in enumerate(parent):
        if isinstance(above, bool) or not isinstance(above, (int, np.integer)) or not -1 <= above < count:
            refuse(
                f"run numbers from 0 to {count - 1}, or -1 for the first run",
                repr(above),
                f"Check run {run}.",
            )
        (roots if above == -1 else children[above]).append(run)
    if len(roots) != 1:
        refuse(
            "a tree with one first run (parent -1)",
            f"{len(roots)} of them",
            "Let one run start at the meter.",
        )
    order = roots
    for run in order:  # grows while it is read
        order.extend(children[run])
    if len(order) < count:
        lost = sorted(set(range(count)) - set(order))
        refuse(
            "a tree, with every run reached from the first", f"a ring in runs {lost[:10]}", "Break the ring."
        )
    return tuple(order)


def _need_run_axis(function: str, name: str, values: np.ndarray, count: int) -> None:
    if values.ndim == 0 or values.shape[-1] != count:
        raise InputError(
            function, name, f"an array with one value for each of the {count} runs", f"shape {values.shape}",
            "Give one number a run, in the order of `parent`.",
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class State:
    """What a tree does: arrays whose last axis is the run.

    flow [m3/s] through each run, loss [Pa] by friction along it, pressure [Pa gauge] at
    its end, load [m3/s] taken at its end. `inlet_pressure` [Pa gauge] feeds the first run.
    """

    flow: np.ndarray
    loss: np.ndarray
    pressure: np.ndarray
    load: np.ndarray
    inlet_pressure: np.ndarray | float


@calculation(
    loads=LOADS,
    inlet_pressure=PRESSURE_GAUGE,
    gas_density=pipe.DENSITY,
    viscosity=pipe.VISCOSITY,
    air_density=between("kg/m3", 0.5, 2.0, "density of the air outside the pipe"),
)
def solve(tree: Tree, loads, inlet_pressure, gas_density, viscosity, air_density=AIR_DENSITY) -> State:
    """Return flow, loss and pressure of every run for given loads.

    loads [m3/s] taken at the end of each run, shape (..., runs); inlet_pressure [Pa gauge]
    and the densities [kg/m3] and viscosity [Pa s] are numbers or have the designs' shape.
    Flow adds up towards the root; pressure falls by `flow.pressure_loss` and gains by
    `flow.static_gain` away from it. A pressure below zero says the loads cannot be carried.
    Source: gaslab (sums along a tree).

    >>> tree = Tree((-1, 0), [6.0, 4.0], [0.0202, 0.0136], [0.0, 0.0], [0.0, 0.0])
    >>> state = solve(tree, [0.0, 0.001], 2100.0, 0.7353, 1.0877e-5)
    >>> [float(q) for q in state.flow], bool(state.pressure[1] == state.pressure[0] - state.loss[1])
    ([0.001, 0.001], True)
    """
    tree = _as_tree("physics.network.solve", tree)
    loads = np.asarray(loads, dtype=float)
    _need_run_axis("physics.network.solve", "loads", loads, len(tree.parent))
    surroundings = (inlet_pressure, gas_density, viscosity, air_density)
    if _is_one_small_design(tree, loads, surroundings):
        return _one_design(tree, loads, *map(float, surroundings))
    inlet, gas, thickness, air = (
        np.asarray(v, float)[..., None] for v in (inlet_pressure, gas_density, viscosity, air_density)
    )
    shapes = (loads, tree.length, tree.bore, tree.roughness, tree.rise, inlet, gas, thickness, air)
    try:
        shape = np.broadcast_shapes(*(a.shape for a in shapes))
    except ValueError:
        raise InputError(
            "physics.network.solve", "loads", "of a shape that fits the tree and the other arrays",
            " ".join(str(a.shape) for a in shapes), "Let the designs' axes agree; the run is the last axis.",
        ) from None  # fmt: skip
    flow = np.array(
        np.moveaxis(np.broadcast_to(loads, shape), -1, 0), order="C"
    )  # the run first: whole rows add
    for run in reversed(tree.order[1:]):
        flow[tree.parent[run]] += flow[run]
    flow = np.moveaxis(flow, 0, -1)
    loss = pipe.pressure_loss.bare(flow, tree.length, tree.bore, tree.roughness, gas, thickness)
    fall = np.array(
        np.moveaxis(np.broadcast_to(loss - pipe.static_gain.bare(tree.rise, gas, air), shape), -1, 0)
    )
    fall[tree.order[0]] = inlet[..., 0] - fall[tree.order[0]]
    for run in tree.order[1:]:
        fall[run] = fall[tree.parent[run]] - fall[run]
    return State(flow, loss, np.moveaxis(fall, 0, -1), np.broadcast_to(loads, shape), inlet_pressure)


def _is_one_small_design(tree: Tree, loads: np.ndarray, surroundings: tuple) -> bool:
    """Return True for one design of few runs: there plain numbers are quicker than arrays."""
    plain = not any(isinstance(value, (np.ndarray, list, tuple)) for value in surroundings)
    parts = (tree.length, tree.bore, tree.roughness, tree.rise)
    return plain and len(tree.parent) <= FEW_RUNS and all(part.shape == loads.shape for part in parts)


def _one_design(
    tree: Tree, loads: np.ndarray, inlet: float, gas: float, thickness: float, air: float
) -> State:
    """Walk one design with the same formulas as the arrays: flow towards the root, pressure away from it."""
    flow, length, bore = loads.tolist(), tree.length.tolist(), tree.bore.tolist()
    roughness, rise = tree.roughness.tolist(), tree.rise.tolist()
    for run in reversed(tree.order[1:]):
        flow[tree.parent[run]] += flow[run]
    loss, pressure = flow.copy(), flow.copy()
    for run in tree.order:
        loss[run] = pipe.pressure_loss.bare(flow[run], length[run], bore[run], roughness[run], gas, thickness)
        above = inlet if tree.parent[run] < 0 else pressure[tree.parent[run]]
        pressure[run] = above - (loss[run] - pipe.static_gain.bare(rise[run], gas, air))
    return State(np.array(flow), np.array(loss), np.array(pressure), loads, inlet)


def _as_tree(function: str, tree: object) -> Tree:
    """Return a Tree; a mapping of its fields, as a file holds it, is made into one."""
    if isinstance(tree, Mapping):
        fields = ("parent", "length", "bore", "roughness", "rise")
        if set(tree) != set(fields):
            raise InputError(
                function, "tree", f"a mapping of {', '.join(fields)}", ", ".join(map(str, tree)), "Give each."
            )
        return Tree(**tree)
    if not isinstance(tree, Tree):
        raise InputError(function, "tree", "a Tree", repr(tree), "Build one with physics.network.Tree.")
    return tree


@calculation(
    orifices=zero_or_more("m3/s", 1e-3, "flow each burner would pass at 1 Pa; 0 where there is none"),
    gas_density=pipe.DENSITY,
    viscosity=pipe.VISCOSITY,
    air_density=between("kg/m3", 0.5, 2.0, "density of the air outside the pipe"),
)
def operating_point(
    tree: Tree, supply: Callable[[float], float], orifices, gas_density, viscosity, air_density=AIR_DENSITY
) -> State:
    """Return the state in which supply, pipes and burners agree, for one design.

    supply(q) gives the gauge pressure [Pa] at the start of the first run for a total flow
    q [m3/s]: regulator and meter together, never rising with flow. orifices: k of the
    burners at the end of each run, q = k sqrt(p), i.e. the flow [m3/s] at 1 Pa. Densities
    [kg/m3], viscosity [Pa s]. Pressures agree to 1e-9 of the supply's. A negative load says
    that the pressure there is below the air outside, which would be drawn in.

    Every burner takes more as pressure rises and everything else gives less as flow rises,
    so there is one answer. Newton's method finds it; each step solves the straightened
    tree in one sweep up and one down, and is halved until it brings the answer nearer.
    Source: gaslab (balance of regulator, pipes and burners).

    >>> tree = Tree((-1,), [10.0], [0.0202], [0.0], [0.0])
    >>> state = operating_point(tree, lambda q: 2100.0, [2.0e-5], 0.7353, 1.0877e-5)
    >>> bool(abs(state.load[0] - 2.0e-5 * state.pressure[0] ** 0.5) < 1e-12)
    True
    """
    tree = _as_tree("physics.network.operating_point", tree)
    orifices = np.asarray(orifices)
    _need_run_axis("physics.network.operating_point", "orifices", orifices, len(tree.parent))
    if (
        tree.length.ndim > 1
        or tree.bore.ndim > 1
        or tree.roughness.ndim > 1
        or tree.rise.ndim > 1
        or orifices.ndim > 1
    ):
        raise InputError(
            "physics.network.operating_point",
            "tree",
            "one design",
            "many designs",
            "Call it once for each design.",
        )
    settling = Settling(tree, orifices.tolist(), gas_density, viscosity, air_density)
    curve = _checked_supply(supply)
    loads = settling.newton(curve)
    if loads is None:
        loads = settling.bisect(curve)
    flow, loss, pressure, inlet = settling.carry(loads, curve)
    return State(np.array(flow), np.array(loss), np.array(pressure), np.array(loads), inlet)


def _checked_supply(supply) -> Callable[[float], float]:
    name = "physics.network.operating_point"
    if not callable(supply):
        raise InputError(
            name, "supply", "a function from flow to pressure", repr(supply), "Give a regulator curve."
        )
    # A regulator shuts rather than take gas back: below no flow its curve stays where it was.
    return lambda total: checked(name, "supply", SUPPLY, supply(max(total, 0.0)))
