"""The pipe tree against pandapipes with its Colebrook model: same tree, same gas, same loads, same pressures.

Ours takes the flows from the loads and walks the tree once; theirs iterates on a general network of compressible
gas. That is why ours may be faster, and why ours cannot do a ring main.
"""

import numpy as np
import pandapipes
from timing import medians, once, row, said

from gaslab.physics import network

INLET = 2100.0  # Pa gauge
BAROMETER = 101_325.0  # Pa
TEMPERATURE = 288.15  # K
PARENT = (-1, 0, 0)
LENGTH, BORE, ROUGHNESS = (6.0, 4.0, 5.0), (0.0262, 0.0136, 0.0202), 1.5e-6  # m
LOADS = (3.0 / 3600, 4.0 / 3600)  # m3/s at the two ends
DESIGNS = 10_000
SIZES = (10, 100, 1_000, 10_000)


def outside_network():
    """Return a pandapipes net of the same main with two branches."""
    net = pandapipes.create_empty_network(fluid="methane")
    inlet = INLET / 1e5
    nodes = [pandapipes.create_junction(net, pn_bar=inlet, tfluid_k=TEMPERATURE) for _ in range(4)]
    pandapipes.create_ext_grid(net, nodes[0], p_bar=inlet, t_k=TEMPERATURE)
    for (start, end), length, bore in zip([(0, 1), (1, 2), (1, 3)], LENGTH, BORE, strict=True):
        pandapipes.create_pipe_from_parameters(
            net, nodes[start], nodes[end], length / 1000, inner_diameter_mm=bore * 1000, k_mm=ROUGHNESS * 1000,
            text_k=TEMPERATURE,
        )  # fmt: skip
    density = float(net.fluid.get_density(TEMPERATURE)) * (BAROMETER + INLET) / BAROMETER
    for node, load in zip(nodes[2:], LOADS, strict=True):
        pandapipes.create_sink(net, node, mdot_kg_per_s=load * density)
    return net, density, float(net.fluid.get_viscosity(TEMPERATURE))


def tree(parent, length, bore):
    count = len(parent)
    return network.Tree(parent, np.array(length), np.array(bore), np.full(count, ROUGHNESS), np.zeros(count))


def chain(count: int):
    """Return a tree of `count` runs, each hanging on the one before the last: long and branched."""
    parent = [-1, *(max(0, at - 2) for at in range(1, count))]
    return tree(tuple(parent), np.full(count, 2.0), np.full(count, 0.05))


def main() -> None:
    net, density, viscosity = outside_network()
    ours = tree(PARENT, LENGTH, BORE)
    loads = np.array([0.0, *LOADS])

    def theirs():
        pandapipes.pipeflow(net, friction_model="colebrook", tol_p=1e-9, tol_m=1e-9, iter=100)

    fast, slow = medians(lambda: network.solve(ours, loads, INLET, density, viscosity), theirs)
    drops = INLET - network.solve(ours, loads, INLET, density, viscosity).pressure[1:]
    outside = (net.res_junction.p_bar.iloc[0] - net.res_junction.p_bar.iloc[2:].to_numpy()) * 1e5
    row("a tree of 3 runs, loads to pressures", fast, slow, "pandapipes", "aim: 100 times")
    bare, slow = medians(lambda: network.solve.bare(ours, loads, INLET, density, viscosity), theirs)
    row("the same without the check of its arguments", bare, slow, "pandapipes", "aim: 100 times")
    print(f"  pressure drops differ by {np.max(np.abs(drops / outside - 1)):.2%} at most (aim: 0.5 %)")

    many = np.random.default_rng(1).uniform(0.0, 1.0, (DESIGNS, 3)) * loads
    whole = medians(lambda: network.solve(ours, many, INLET, density, viscosity), repeats=5)[0]
    row(
        f"one of {DESIGNS:,} designs solved at once ({said(whole)})",
        whole / DESIGNS,
        slow,
        "pandapipes",
        "aim: 100 times",
    )
    for size in SIZES:
        long, each = chain(size), np.full(size, 1e-8)
        spent = min(once(lambda: network.solve(long, each, INLET, density, viscosity)) for _ in range(3))  # noqa: B023
        print(f"{size:>7,} runs: {said(spent):>9}, {said(spent / size)} a run")


if __name__ == "__main__":
    main()
