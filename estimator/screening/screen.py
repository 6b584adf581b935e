"""The screening of an option: its sails brought to rest and loaded, every part looked at, the take-down wind found."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.geometry.fasteners import GRAVITY
from estimator.rates.model import RateBook
from estimator.screening.corners import corner_parts, support_parts
from estimator.screening.forms import Key, Placed, Shapes, figures_of, hanging, place, pulls_on, under, where
from estimator.screening.model import CornerForce, SailShape, Screened, Vector
from estimator.screening.parts import CASES, Part, Pulls, alike, check
from estimator.screening.posts import post_parts
from estimator.screening.take_down import take_down_wind
from estimator.screening.wind import Wind, gust_of, wind_of
from estimator.takeoff.draft import Draft
from estimator.takeoff.hang import Hung
from estimator.takeoff.model import Point

WATER = 1000.0  # kg/m3
LEAST_POOL = 0.005  # m; less is a wet spot
NAMES_FEW = 3  # parts that a sentence names


@dataclass(frozen=True, slots=True, eq=False)
class _Option:
    """The sails of an option at rest, with the wind on them."""

    wind: Wind
    placed: tuple[Placed, ...]

    def pulls(self, speed: float, case: str) -> Pulls | None:
        """Pulls of all sails on their fixings; None where one of them found no rest."""
        found: dict[tuple[str, str], Vector] = {}
        for sail in self.placed:
            forces = pulls_on(sail, self.wind.pressure(speed, case, sail.share))
            if not isinstance(forces, list):
                return None
            found.update({(sail.sail, name): pull for name, pull in zip(sail.fixings, forces, strict=True)})
        return found

    def restless(self, speed: float) -> int:
        """The first sail, from 0, that finds no rest under this gust in some case."""
        return next(
            number
            for number, sail in enumerate(self.placed)
            for case in CASES
            if not isinstance(pulls_on(sail, self.wind.pressure(speed, case, sail.share)), list)
        )


def screen_option(book: RateBook, draft: Draft, shapes: Shapes) -> tuple[Screened | None, list[Problem]]:
    """The screening of an option whose sails all hang; None where it cannot be made, with why.

    shapes: the sails solved so far in this run; what is solved here is added.
    """
    at = draft.site.source.place("Wind speed")
    wind, gust = wind_of(book), gust_of(book, draft.site)
    lacks = [f"the setting {n}" for n in (wind if isinstance(wind, tuple) else ())]
    lacks += [f"the setting {gust}"] if isinstance(gust, str) else []
    placed: list[Placed] = []
    for hung in draft.hung:
        one = _placed(book, draft, hung, shapes)
        if isinstance(one, Problem):
            return None, [one]
        if isinstance(one, tuple):
            lacks += [f"{n} of the cloth {hung.taken.cloth}" for n in one]
        else:
            placed.append(one)
    if lacks or isinstance(wind, tuple) or isinstance(gust, str):
        return None, [problem("screen-lacks", at, name=draft.option.name, lacks=", ".join(dict.fromkeys(lacks)))]
    return _screened(book, draft, _Option(wind, tuple(placed)), *gust)


def shapes_of(book: RateBook, draft: Draft) -> list[Key]:
    """The shapes of an option that is to be screened; none for a sail whose cloth lacks figures."""
    found = []
    for hung in draft.hung:
        cloth = book.cloths[key(hung.taken.cloth)]
        figures = figures_of(cloth)
        if not isinstance(figures, tuple):
            found.append(hanging(hung, _points(draft, hung), figures, cloth.edge_hollow).key)
    return found


def _points(draft: Draft, hung: Hung) -> list[Point]:
    by_name = {p.fixing: p for p in draft.points}
    return [by_name[name] for name in hung.taken.fixings]


def _placed(book: RateBook, draft: Draft, hung: Hung, shapes: Shapes) -> Placed | Problem | tuple[str, ...]:
    cloth = book.cloths[key(hung.taken.cloth)]
    figures = figures_of(cloth)
    if isinstance(figures, tuple):
        return figures
    found = place(shapes, hung, _points(draft, hung), figures, cloth.edge_hollow, cloth.wind_share or 0.0)
    return found if isinstance(found, Placed) else _unsettled(hung, found.name)


def _unsettled(hung: Hung, name: str) -> Problem:
    from estimator.geometry.form_density import NAMES

    return problem("form-not-settled", hung.sail.source.place("Corners at"), sail=hung.taken.sail, why=NAMES[name])


def _screened(
    book: RateBook, draft: Draft, option: _Option, gust: float, gust_words: str
) -> tuple[Screened | None, list[Problem]]:
    by_case = {case: option.pulls(gust, case) for case in CASES}
    settled = {case: pulls for case, pulls in by_case.items() if pulls is not None}
    if len(settled) != len(CASES):
        return None, [_unsettled(draft.hung[option.restless(gust)], "load")]
    parts, unknown = _parts(book, draft)
    checks = sorted((check(p, settled) for p in parts), key=lambda c: -(alike(c.used) if c.used is not None else -1.0))
    forces = tuple(
        CornerForce(*at, settled["rest"][at], settled["up"][at], settled["down"][at]) for at in settled["rest"]
    )
    shapes, pools = _shapes(book, draft, option)
    screened = Screened(
        gust=gust,
        gust_words=gust_words,
        up=option.wind.pressure(gust, "up", 1.0),
        down=-option.wind.pressure(gust, "down", 1.0),
        forces=forces,
        checks=tuple(checks),
        take_down=take_down_wind(parts, option.pulls),
        shapes=shapes,
        unknown=tuple(unknown),
    )
    return screened, [*_problems(draft, screened), *pools]


def _parts(book: RateBook, draft: Draft) -> tuple[list[Part], list[str]]:
    corners, no_corners = corner_parts(book, draft)
    supports, no_supports = support_parts(book, draft)
    posts, no_posts = post_parts(book, draft)
    return [*corners, *supports, *posts], [*no_corners, *no_supports, *no_posts]


def _shapes(book: RateBook, draft: Draft, option: _Option) -> tuple[tuple[SailShape, ...], list[Problem]]:
    """How each sail stands, and the pool that a waterproof one would hold under some water."""
    found, problems = [], []
    for hung, placed in zip(draft.hung, option.placed, strict=True):
        film = placed.shape.film
        cloth = film.points[: film.mesh.count]
        pool = _pool(book, hung, placed)
        if pool:
            words = {"depth": f"{pool[2] * 1000:.0f}", "across": f"{pool[0]:.2f}", "out": f"{pool[1]:.2f}"}
            water = f"{book.known('pond water') or 0:g}"
            problems.append(
                problem("sail-pools", hung.sail.source.place("Corners at"), sail=hung.taken.sail, water=water, **words)
            )
        highest, lowest = cloth[cloth[:, 2].argmax()], cloth[cloth[:, 2].argmin()]
        found.append(SailShape(placed.sail, where(placed, highest), where(placed, lowest), film.area, pool))
    return tuple(found), problems


def _pool(book: RateBook, hung: Hung, placed: Placed) -> Vector | None:
    """Middle of the deepest pool under the setting `pond water` and its depth; only a waterproof cloth holds one."""
    from estimator.geometry.form import Loaded
    from estimator.geometry.ponding import pool

    water = book.known("pond water")
    if water is None or not book.cloths[key(hung.taken.cloth)].waterproof:
        return None
    wet = under(placed.shape, -WATER * GRAVITY * water / 1000)
    if not isinstance(wet, Loaded):
        return None
    mesh = placed.shape.film.mesh
    found = pool(wet.points[: mesh.count], mesh.triangles, LEAST_POOL)
    if found is None:
        return None
    across, out, _ = where(placed, found.middle)
    return across, out, found.depth


def _problems(draft: Draft, screened: Screened) -> list[Problem]:
    """What a person should look at first; every figure is indicative."""
    at = draft.site.source.place("Wind speed")
    corners = draft.option.source.place("Corners at")
    name, found = draft.option.name, list[Problem]()
    over = [c for c in screened.checks if c.counted and (c.used or 0.0) >= 1]
    down = screened.take_down
    if down and down.wind == 0 and down.reached:
        found.append(problem("used-up-at-rest", corners, name=name, first=down.first))
    elif over and draft.site.wind_speed is not None:
        more = f" and {len(over) - NAMES_FEW} more" if len(over) > NAMES_FEW else ""
        named = "; ".join(f"{c.name} {_percent(c.used)}" for c in over[:NAMES_FEW]) + more
        found.append(problem("used-up-in-wind", at, name=name, gust=f"{screened.gust * 3.6:.0f}", parts=named))
    if down is None:
        found.append(problem("take-down-unknown", corners, name=name))
    if screened.unknown:
        found.append(problem("screen-unknown", corners, name=name, parts="; ".join(screened.unknown)))
    moved = [c for c in screened.checks if c.unit == "m" and (c.used or 0.0) >= 1]
    if moved:
        posts = ", ".join(f"{c.where} {c.demand * 1000:.0f} mm" for c in moved)
        found.append(problem("post-moves", corners, name=name, gust=f"{screened.gust * 3.6:.0f}", posts=posts))
    return found


def _percent(share: float | None) -> str:
    return "" if share is None else f"{share * 100:.0f} %"
