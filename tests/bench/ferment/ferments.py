"""A look at the made-up ferments that forecasts are measured by: a few seeds of each kind."""

import numpy as np

from bubblerate.ferment.made_up import DAYS, KINDS, simulate


def _main() -> None:
    print("kind         seed  litres  peak/min on day  under 1/min on day        gravity  rows")
    for f in (simulate(kind, seed) for kind in KINDS for seed in range(4)):
        peak, rows = int(np.argmax(f.grid_per_min)), f.csv.count("\n") - 1
        bubbling = f"{f.grid_per_min[peak]:9.1f} {DAYS[peak]:6.1f} {f.crossing_day(1.0):19.1f}"
        gravity = f"{f.grid_sg[0]:8.3f}-{f.grid_sg[-1]:.3f}"
        print(f"{f.kind:12s} {f.seed:4d} {f.litres:7.1f} {bubbling} {gravity} {rows:5d}")


if __name__ == "__main__":
    _main()
