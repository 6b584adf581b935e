"""Sheet `Extras`: what the rate book does not count by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem, scoped
from estimator.job.model import Extra, Option, Site
from estimator.job.rows import Names, Read, named


def read_extras(
    reads: Sequence[Read], sites: Mapping[str, Site], options: Sequence[Option], names: Names
) -> tuple[tuple[Extra, ...], list[Problem]]:
    """The extras in row order; an extra with a problem touches the options it belongs to."""
    extras: list[Extra] = []
    problems: list[Problem] = []
    only = next(iter(sites.values())) if len(sites) == 1 else None
    for read in reads:
        site_text, option_text = read.text("Site"), read.text("Option")
        site = sites.get(key(site_text)) if site_text else (only if option_text else None)
        scope_site = site.name if site else None
        found = list(read.row.problems)
        if site_text and site is None:
            known = [s.name for s in sites.values()]
            found.append(
                problem(
                    "site-unknown",
                    read.place("Site"),
                    found=site_text,
                    known=", ".join(known) or "none",
                    hint=did_you_mean(site_text, known),
                )
            )
        option_name = option_text
        if option_text:
            mine = [o for o in options if site and o.site == site.name]
            match = next((o.name for o in mine if key(o.name) == key(option_text)), None)
            option_name = match or option_text
            if site is not None and match is None:
                known = [o.name for o in mine]
                found.append(
                    problem(
                        "option-unknown",
                        read.place("Option"),
                        found=option_text,
                        known=", ".join(known) or "none",
                        hint=did_you_mean(option_text, known),
                    )
                )
            if site is None and not site_text:
                found.append(problem("extra-without-site", read.place("Site"), option=option_text, name=option_text))
        extra, more = _extra(read, scope_site or "", option_name, names)
        problems += scoped([*found, *more], site=scope_site, option=option_name if site and option_text else None)
        if extra is not None:
            extras.append(extra)
    return tuple(extras), problems


def _extra(read: Read, site: str, option: str, names: Names) -> tuple[Extra | None, list[Problem]]:
    item, problems = named(read, "Item", "priced", names, "item")
    cost, quantity = read.decimal("Cost each"), read.get("Quantity")
    by_others = bool(read.get("By others"))
    if item and cost is not None:
        problems.append(problem("item-and-cost", read.place("Cost each"), item=item))
    free = by_others or (quantity is not None and float(quantity) == 0)
    if not read.text("Item") and cost is None and not free and read.usable("Item", "Cost each"):
        problems.append(problem("extra-without-cost", read.place("Cost each")))
    if cost is not None and not read.text("Kind") and read.usable("Kind") and not by_others:
        problems.append(problem("kind-blank", read.place("Kind")))
    if quantity is None or not read.text("Description"):
        return None, problems
    return (
        Extra(
            site=site,
            option=option,
            description=read.text("Description"),
            quantity=quantity if isinstance(quantity, Decimal) else Decimal(f"{float(quantity):.15g}"),
            unit=read.text("Unit"),
            item=item,
            cost_each=cost,
            kind=read.text("Kind"),
            visit=read.text("Visit"),
            instead_of=read.text("Instead of"),
            by_others=by_others,
            shown=bool(read.get("Shown")),
            offered_apart=bool(read.get("Offered apart")),
            variation=read.text("Variation"),
            reason=read.text("Reason"),
            source=read.source,
            given=read.text("Price is"),
        ),
        problems,
    )
