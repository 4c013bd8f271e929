"""Questions: a filtered variant against the sums in it, and all corners of a band at once against one by one."""

import numpy as np
from timing import medians, row

from gaslab.learn import items
from gaslab.learn.bands import Workings
from gaslab.learn.chance import Chance
from gaslab.learn.formulas import evaluate, parse

VARIANTS = 200
CORNERS = 256


def main() -> None:
    stream = Chance(b"bench")
    for name in ("gas-rate-metric", "installation-volume", "pipe-drop-run", "leak-from-drop"):
        plan = items.family(name)
        variant = items.draw_from(plan, stream)
        scene = items.scene(plan, variant.params)

        def draw(plan=plan):
            for _ in range(VARIANTS):
                items.draw_from(plan, stream)

        def sums(plan=plan, scene=scene):
            for _ in range(VARIANTS):
                workings = Workings(plan, scene)
                for step in plan.steps:
                    workings.band(step.tree, step.precision)
                    workings.step_done(step)

        drawn, summed = medians(draw, sums, repeats=5)
        row(f"a filtered variant of {name}", drawn / VARIANTS, aim="below 1 ms")
        print(f"  its right answers and bands alone take {summed / drawn:.0%} of that")
    tree = parse("pipe_loss_mbar(flow, length, 20.2)")
    flow, length = np.linspace(1.0, 3.0, CORNERS), np.linspace(2.0, 9.0, CORNERS)
    together, singly = medians(
        lambda: evaluate(tree, {"flow": flow, "length": length}),
        lambda: [
            evaluate(tree, {"flow": float(q), "length": float(x)}) for q, x in zip(flow, length, strict=True)
        ],
    )
    row(f"{CORNERS} corners of a pipe's loss", together, singly, "one by one")


if __name__ == "__main__":
    main()
