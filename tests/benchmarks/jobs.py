"""Large jobs for the benchmarks: the same few yards over and over. Everything is invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import xlsxwriter

from tests.build import fixing, option, write_job
from tests.screening.yards import SITE

SIZES = ("SQ-5000", "SQ-4000", "made to fit")
KINDS = (  # held by, height [m], of the four corners
    (("solid wall", 3.1), ("solid wall", 3.1), ("new post", 2.5), ("new post", 2.5)),
    (("new post", 3.2), ("new post", 2.4), ("new post", 3.2), ("new post", 2.4)),
    (("rafter", 2.9), ("new post", 2.6), ("new post", 2.4), ("fascia bracket", 2.8)),
)
GROUND = ("firm", "soft", "sand")


def many_sites(path: Path, sites: int, options: int = 1, wind: bool = False) -> Path:
    """A job of so many sites, each with four fixings and so many options, the first chosen. wind: with a wind speed,
    so that every option is screened."""
    tables: dict[str, list[list[Any]]] = {
        "Job": [["Item", "Value"], ["Job name", "Schools of a region"], ["Priced on", "2026-04-03"], ["Margin", 0.25]],
        "Sites": [["Site", "Ground", "Access", "Travel (km)", "Existing sails", "Services"]],
        "Fixings": [
            ["Site", "Fixing", "Held by", "Across (m)", "Out (m)", "Height (m)", "Ground level (m)", "Known by"]
        ],
        "Options": [["Site", "Option", "Corners at", "Size", "Cloth", "Chosen"]],
    }
    if wind:
        tables["Sites"][0] += ["Wind speed", "Wind is"]
    for n in range(sites):
        site, wide = f"School {n + 1}", 6.0 + n % 3 * 0.1
        more = ["41 m/s", "gust"] if wind else []
        tables["Sites"].append([site, GROUND[n % 3], "easy", 5 + n % 20, 0, "located", *more])
        for name, (held, high), (x, y) in zip("ABCD", KINDS[n % 3], ((0, 0), (1, 0), (1, 1), (0, 1)), strict=True):
            tables["Fixings"].append([site, name, held, x * wide, y * wide, high, 0, "measured"])
        for o in range(options):
            size = SIZES[o % 3]
            cloth = "KNIT-HEAVY" if size == "made to fit" else None
            tables["Options"].append([site, str(o + 1), "A B C D", size, cloth, "yes" if o == 0 else None])
    with xlsxwriter.Workbook(path) as book:
        for name, rows in tables.items():
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
    return path


def different_sites(path: Path, sites: int) -> Path:
    """A job of so many sites, no two of one shape, each with one option that is screened."""
    points, options = [], []
    for n in range(sites):
        site = f"Yard {n + 1}"
        for name, (x, y, high) in zip("ABCD", ((0, 0, 3.2), (1, 0, 2.4), (1, 1, 3.1), (0, 1, 2.5)), strict=True):
            wide, deep = 5.6 + 0.01 * n, 5.2 + 0.007 * n
            points.append({**fixing(name, x * wide, y * deep, high), "Site": site})
        options.append({**option("A B C D", "made to fit", Cloth="KNIT-HEAVY"), "Site": site})
    rows = [{**SITE, "Site": f"Yard {n + 1}"} for n in range(sites)]
    return write_job(path, sites=rows, fixings=points, options=options)


def folder_of_jobs(folder: Path, jobs: int) -> Path:
    """A folder of small jobs, each of one site with two options."""
    folder.mkdir(parents=True)
    for n in range(jobs):
        many_sites(folder / f"school-{n + 1:03}.xlsx", 1, 2)
    return folder
