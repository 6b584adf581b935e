"""What a quote has to say of the work itself, so that nobody can argue later: how each corner is held, what the posts
are and how they are finished, and the scope rows of the table `usual_lines` that are in the price."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.usual import scope_rows
from estimator.rates.model import UsualLine
from estimator.report.words import first_small


def fixed_to(priced: PricedJob, option: PricedOption) -> str:
    """Each kind of support with how it holds; fixings on one new post count as one."""
    at: dict[str, set[str]] = {}
    for p in option.taken.points:
        support = priced.book.supports.get(key(p.held_by))
        words = first_small(support.description) if support and support.description else p.held_by
        at.setdefault(words, set()).add(key(p.post_name) or f"fixing {key(p.fixing)}")
    return "\n".join(f"{len(where)} × {words}" for words, where in at.items())


def posts(priced: PricedJob, options: Sequence[PricedOption]) -> dict[str, list[str]]:
    """The posts, their finish, and the scope rows: by name, a value for each option."""
    found = {"Posts": [_posts(priced, o) for o in options], "Post finish": [_finish(priced, o) for o in options]}
    rows = [{r.what: r.note or "included" for r in _scope(priced, o)} for o in options]
    for what in dict.fromkeys(w for mine in rows for w in mine):
        found[what[:1].upper() + what[1:]] = [mine.get(what, "") for mine in rows]
    return found


def _scope(priced: PricedJob, option: PricedOption) -> list[UsualLine]:
    return scope_rows(priced.book, priced.job, option, priced.job_bill)


def _posts(priced: PricedJob, option: PricedOption) -> str:
    kinds: dict[str, int] = {}
    for p in option.taken.posts:
        section = priced.book.posts.get(key(p.post))
        name = first_small(section.description) if section and section.description else "post"
        kinds[name] = kinds.get(name, 0) + 1
    return "\n".join(f"{n} × {name}" for name, n in kinds.items())


def _finish(priced: PricedJob, option: PricedOption) -> str:
    sections = [priced.book.posts.get(key(p.post)) for p in option.taken.posts]
    return "; ".join(dict.fromkeys(s.finish for s in sections if s and s.finish))
