"""A leach batch's account in plain words, for reading aloud."""

from collections.abc import Iterator, Sequence

from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.leach import LeachMetal, LeachPart, LeachReport, ReadingLine
from goldroom.reports.metal import Figure

STATUS_WORDS = {
    "leaching": "leaching",
    "drained": "drained, its residue still in the vessel",
    "washed": "washed, its residue still in the vessel",
    "discharged": "ended, its residue out",
}


def text_of(report: LeachReport, clock: SiteClock) -> str:
    """Return the account for reading; times are the site's."""
    lines = [*_heading(report, clock), "", *_charged(report), *_came_out(report, clock)]
    lines += ["", *(_metal_words(report, each) for each in report.metals)]
    lines += ["", *_chemistry(report, clock)]
    lines += [*_unsure(report), f"Times are the site's ({clock.zone})."]
    return "\n".join(lines)


def _heading(report: LeachReport, clock: SiteClock) -> Iterator[str]:
    ended = f", to {clock.wall_text(report.ended_at)}" if report.has_ended else ""
    other = (
        "" if report.source == "gravity" else f" {report.source.capitalize()} metal."
    )
    yield (
        f"Leach batch {report.batch} in {report.vessel}: {STATUS_WORDS[report.status]}."
        f" Charged {clock.wall_text(report.charged_at)}{ended}.{other}"
    )


def _charged(report: LeachReport) -> Iterator[str]:
    dry = "" if report.dry_charged.grams is None else f", {_kg(report.dry_charged)} dry"
    yield f"Charged{dry}:"
    yield from _part_lines(report.charged)


def _came_out(report: LeachReport, clock: SiteClock) -> Iterator[str]:
    for title, parts in (
        ("Solutions drained", report.solutions),
        ("Samples of its solution", report.samples),
    ):
        if parts:
            yield f"{title}:"
            yield from _part_lines(parts, clock)
    if report.residues:
        dry = report.dry_residue
        yield f"Residue{'' if dry.grams is None else f', {_kg(dry)} dry'}:"
        yield from _part_lines(report.residues, clock)


def _part_lines(
    parts: Sequence[LeachPart], clock: SiteClock | None = None
) -> Iterator[str]:
    for part in parts:
        size = "" if part.litres is None else f", {_plain(part.litres)} L"
        at = "" if clock is None else f", {clock.wall_text(part.at)}"
        mark = " (provisional)" if part.is_provisional else ""
        yield (
            f"    {part.sort} {part.item}{size}{at}: gold {part.gold}, silver"
            f" {part.silver}{mark}"
        )


def _metal_words(report: LeachReport, metal: LeachMetal) -> str:
    told = [
        f"charged {metal.charged}",
        f"in solution {metal.dissolved}",
    ]
    if report.has_ended:
        told += [
            f"in the residue {metal.residue}",
            f"unaccounted {metal.left}",
            f"calculated head {metal.calculated_head}",
        ]
        if metal.recovery is not None:
            told.append(f"recovery {metal.recovery} of the calculated head")
        if metal.accountability is not None:
            told.append(f"accountability {metal.accountability} of the assayed head")
    else:
        told.append(f"in the vessel now, by difference, {metal.left}")
    return f"{metal.metal.capitalize()}: {'; '.join(told)}."


def _chemistry(report: LeachReport, clock: SiteClock) -> Iterator[str]:
    if report.reagents:
        issued = [f"{each.mass_kg} kg of {each.reagent}" for each in report.reagents]
        yield f"Reagents issued: {', '.join(issued)}."
    if report.cyanide_issued_kg and report.least_cyanide_kg is not None:
        yield (
            f"Cyanide: {report.cyanide_issued_kg} kg issued; what dissolved takes at"
            f" least {report.least_cyanide_kg} kg (Elsner's equation). A leach uses far"
            " more."
        )
    yield f"A pH of {report.target_ph} was aimed at."
    for each in report.readings:
        yield f"    {clock.wall_text(each.at)}: {_reading(each)}"


def _reading(line: ReadingLine) -> str:
    told = [f"pH {line.ph}"]
    if line.oxygen_mg_l is not None:
        told.append(f"oxygen {line.oxygen_mg_l} mg/L")
    if line.cyanide_mg_l is not None:
        how = ", by titration" if line.cyanide_by == "titration" else ""
        told.append(f"free cyanide {line.cyanide_mg_l} mg/L NaCN{how}")
    return "; ".join(told)


def _unsure(report: LeachReport) -> Iterator[str]:
    if report.waiting:
        yield f"No result yet: {', '.join(report.waiting)}."
    elif report.is_provisional:
        yield "Provisional: a figure in it is expected to change."


def _kg(figure: Figure) -> str:
    """Return grams as kilograms, whole grams left out."""
    assert figure.grams is not None
    return f"{float(figure.grams) / 1000:.1f} kg"


def _plain(text: str) -> str:
    """Return a decimal text without zeros at its end."""
    return text.rstrip("0").rstrip(".") if "." in text else text
