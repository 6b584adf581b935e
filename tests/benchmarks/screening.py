"""How long the screening of one option takes, take-down wind included: `python -m tests.benchmarks.screening`."""

from __future__ import annotations

from math import cos, pi, sin
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

import estimator.screening.screen as screening
from estimator.screening.forms import DIVISIONS
from tests.build import fixing, option, run, write_job
from tests.screening.yards import SITE

RUNS = 5
CORNERS = (3, 4, 5, 6, 8)


def yard(folder: Path, corners: int) -> Path:
    """A sail of so many corners, high and low in turn, on strong posts."""
    strong = {"Post": "CHS-168", "Hole (m)": 0.75, "Depth (m)": 2.2}
    points = []
    for n in range(corners):
        angle = 2 * pi * n / corners
        at = (4 * cos(angle), 4 * sin(angle), 2.5 + (n % 2) * 0.9)
        points.append(fixing("ABCDEFGH"[n], *at, **strong))
    names = " ".join("ABCDEFGH"[:corners])
    options = [option(names, "made to fit", Hardware="heavy", Cloth="KNIT-HEAVY")]
    return write_job(folder / f"{corners}.xlsx", sites=[SITE], fixings=points, options=options)


def seconds(job: Path) -> tuple[float, float]:
    """Median time [s] of the screening alone over some runs, and the take-down wind [m/s]."""
    taken: list[float] = []
    wind = 0.0

    def timed(*args, **more):  # type: ignore[no-untyped-def]
        start = perf_counter()
        found = real(*args, **more)
        taken.append(perf_counter() - start)
        return found

    real, screening.screen_option = screening.screen_option, timed
    try:
        for _ in range(RUNS):
            done = run(job).priced
            assert done is not None
            screened = done.options[0].screened
            wind = screened.take_down.wind if screened and screened.take_down else 0.0
    finally:
        screening.screen_option = real
    return median(taken), wind


def main() -> None:
    """Print a row a sail."""
    print(f"{DIVISIONS} divisions of an edge, median of {RUNS} runs; the aim is under 1 s an option")
    with TemporaryDirectory() as folder:
        for corners in CORNERS:
            took, wind = seconds(yard(Path(folder), corners))
            print(f"{corners} corners  {took:5.2f} s  take-down wind {wind:4.1f} m/s")


if __name__ == "__main__":
    main()
