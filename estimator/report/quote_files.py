"""The files a customer gets: the quote as a workbook, beside it as a PDF, and the draft of a mail with both.

All three have one name and one fate: where an older workbook is kept under its date, so is what lies beside it.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from estimator.core.problems import Place, Problem, problem
from estimator.pricing.model import PricedJob
from estimator.report.package.save import save_atomic

BESIDE = (".pdf", ".eml")


def write_quote(
    priced: PricedJob, target: Path, *, drawings: bool = True, pdf: bool = True, mail: bool = False
) -> tuple[list[Path], list[Problem]]:
    """The customer's copy and what belongs beside it, or why there is none. Older ones with other figures are kept
    under their date."""
    from estimator.report.package.zipping import settle
    from estimator.report.quote import parts_of, render_parts

    lost = [f"{o.site.name}, option {o.option.name}" for o in priced.options if o.chosen and o.bill is None]
    if lost or not any(o.bill for o in priced.options):
        return [], _not_written(target, "; ".join(lost) or "no option is priced", mail)
    parts = parts_of(priced, drawings)
    new = {".xlsx": settle(render_parts(priced, parts))}
    problems: list[Problem] = []
    if pdf:
        from estimator.report.quote_pdf import pdf_of

        new[".pdf"], lacking = pdf_of(priced, parts)
        if lacking:
            place = Place(file=target.with_suffix(".pdf").name)
            problems.append(problem("pdf-letters", place, letters=" ".join(lacking[:20])))
    if mail:
        new[".eml"], more = _mail(priced, target, new)
        problems += more
    return put_papers(target, new, problems, mail)


def put_papers(
    target: Path, new: dict[str, bytes], problems: list[Problem], mail: bool = False
) -> tuple[list[Path], list[Problem]]:
    """Save a customer's paper and what belongs beside it, by suffix; older ones with other figures are kept under their
    date. problems: what has been found of it so far; mail: a draft of a mail was asked for."""
    from estimator.report.kept_quote import keep_beside, keep_old

    before = _read(target)
    kept = keep_old(target, new[".xlsx"])
    if isinstance(kept, Problem):
        return [], [kept, *_no_mail(target, kept.message, mail)]
    names = [kept.name] if kept else []
    for suffix in BESIDE:
        lies = target.with_suffix(suffix)
        if not lies.is_file():
            continue
        if kept or (before is None and _read(lies) != new.get(suffix)):
            moved = keep_beside(lies, kept)
            if isinstance(moved, Problem):
                problems.append(moved)
                new.pop(suffix, None)  # what could not be put aside is not written over
            else:
                names.append(moved.name)
        elif suffix not in new and before != new[".xlsx"]:
            problems.append(problem("quote-beside-old", Place(file=lies.name)))
    if names:
        problems.append(problem("quote-kept", Place(file=target.name), kept=" and ".join(names)))
    return _saved(target, new, problems, mail)


def _read(path: Path) -> bytes | None:
    with suppress(OSError):
        return path.read_bytes()
    return None


def _saved(
    target: Path, new: dict[str, bytes], problems: list[Problem], mail: bool
) -> tuple[list[Path], list[Problem]]:
    """Saves in the order given; the mail only where all that it carries is saved too."""
    written: list[Path] = []
    for suffix, data in new.items():
        refused = save_atomic(data, target.with_suffix(suffix))
        if refused is not None:
            why = f"{target.with_suffix(suffix).name} could not be written"
            more = _no_mail(target, why, mail and suffix != ".eml")
            return written, [*problems, refused, *more]
        written.append(target.with_suffix(suffix))
    return written, problems


def _mail(priced: PricedJob, target: Path, new: dict[str, bytes]) -> tuple[bytes, list[Problem]]:
    from estimator.report.mail import PDF, SHEETS, draft

    kinds = {".pdf": PDF, ".xlsx": SHEETS}
    attached = {target.with_suffix(s).name: (kind, new[s]) for s, kind in kinds.items() if s in new}
    return draft(priced, attached)


def _not_written(target: Path, why: str, mail: bool) -> list[Problem]:
    left = [p.name for p in (target, *(target.with_suffix(s) for s in BESIDE)) if p.exists()]
    still = "lies" if len(left) == 1 else "lie"
    older = f" {' and '.join(left)} from an earlier run still {still} there." if left else ""
    found = [problem("quote-not-written", Place(file=target.name), why=why, older=older)]
    return [*found, *_no_mail(target, "the customer's copy is not written", mail)]


def _no_mail(target: Path, why: str, mail: bool) -> list[Problem]:
    return [mail_left_out(target, why)] if mail else []


def mail_left_out(target: Path, why: str) -> Problem:
    """Says that there is no draft of a mail. target: the customer's copy."""
    return problem("mail-not-written", Place(file=target.with_suffix(".eml").name), why=why)


def write_variations(
    priced: PricedJob, folder: Path, stem: str, *, pdf: bool = True
) -> tuple[list[Path], list[Problem]]:
    """A paper to sign for each variation of the job, `JOB-variation-V1.xlsx` and beside it the same as a PDF."""
    from estimator.report.package.zipping import settle
    from estimator.report.variation import file_names, render_variation, signed, variation_parts

    found = signed(priced)
    written: list[Path] = []
    problems: list[Problem] = []
    for variation, name in zip(found, file_names(stem, found), strict=True):
        parts = variation_parts(priced, variation)
        new = {".xlsx": settle(render_variation(priced, parts))}
        if pdf:
            from estimator.report.quote_pdf import pdf_of

            new[".pdf"], _ = pdf_of(priced, parts)
        paths, more = put_papers(folder / name, new, [])
        written += paths
        problems += more
    return written, problems
