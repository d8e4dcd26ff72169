"""`dispatch water`: advice for a site, doses, the saturation index, ranges and targets."""

from __future__ import annotations

from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.errors import InvalidValue
from dispatch.readings import ReadingKind
from dispatch.settings import load_settings
from dispatch.units import FOOT_M, POUND_KG, celsius, litres
from dispatch.units import gallons as gallons_of
from dispatch.water.answer import Answer
from dispatch.water.dosing import dose
from dispatch.water.index import Variant, Water, saturation_index
from dispatch.water.products import product_of
from dispatch.water.volume import Shape, volume_by_measures, volume_by_salt
from dispatch.words import _

water_app = typer.Typer(help="Water: advice, doses, index, ranges.", no_args_is_help=True)


@water_app.command("advice")
def advice_command(
    site: Annotated[str, typer.Argument(metavar="SITE", help="Id of the site.")],
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show what the last readings of a site ask for."""
    from dispatch.actions.water import advice_list, water_advice

    with open_book(read_only=True) as (session, settings):
        customary = settings.country == "US"
        found = water_advice(session, settings, site, customary=customary)
    show_list(
        advice_list(found),
        _("Water at {name}").format(name=found.site.name),
        to_csv=to_csv,
        to_json=to_json,
    )
    if not to_csv and not to_json:
        answers = [one for finding in found.findings for one in finding.answers] + list(found.index)
        _cautions(answers, found.cautions)


@water_app.command("dose")
def dose_command(
    product: Annotated[str, typer.Argument(metavar="PRODUCT", help="As liquid-chlorine.")],
    change: Annotated[float, typer.Option("--change", help="How far the reading moves, ppm.")],
    gallons: Annotated[float | None, typer.Option(help="Volume in US gallons.")] = None,
    volume_l: Annotated[float | None, typer.Option("--litres", help="Volume in litres.")] = None,
    strength: Annotated[float | None, typer.Option(help="As on the label.")] = None,
) -> None:
    """Compute a dose by mass balance; the label comes first."""
    volume = volume_l if volume_l is not None else litres(gallons or 0)
    customary = load_settings().country == "US"
    _say(dose(product_of(product), volume, change, strength, customary=customary))


@water_app.command("index")
def index_command(
    ph: Annotated[float, typer.Option()],
    calcium: Annotated[float, typer.Option(help="Calcium hardness, ppm.")],
    alkalinity: Annotated[float, typer.Option(help="Total alkalinity, ppm.")],
    temperature_f: Annotated[float | None, typer.Option(help="Water temperature, °F.")] = None,
    temperature_c: Annotated[float | None, typer.Option(help="Water temperature, °C.")] = None,
    cya: Annotated[float, typer.Option(help="Cyanuric acid, ppm.")] = 0,
    borate: Annotated[float, typer.Option(help="Borate, ppm.")] = 0,
    tds: Annotated[float | None, typer.Option(help="Dissolved solids, ppm.")] = None,
    salt: Annotated[float | None, typer.Option(help="Salt, ppm.")] = None,
) -> None:
    """Compute the saturation index by each named method."""
    if temperature_c is None and temperature_f is None:
        raise InvalidValue(_("Give the water's temperature: --temperature-f or --temperature-c."))
    heat = temperature_c if temperature_f is None else celsius(temperature_f)
    assert heat is not None  # noqa: S101 - one of the two is given
    water = Water(ph, heat, calcium, alkalinity, cya, borate, tds, salt)
    for variant in Variant:
        _say(saturation_index(water, variant))


@water_app.command("volume")
def volume_command(
    shape: Annotated[Shape, typer.Argument(help="Outline seen from above.")],
    length: Annotated[float, typer.Option(help="Length; of a round pool the diameter.")],
    depth: Annotated[float, typer.Option(help="Average depth.")],
    width: Annotated[float | None, typer.Option(help="Width; of a kidney the wider one.")] = None,
    narrow: Annotated[float | None, typer.Option(help="Narrower width of a kidney.")] = None,
    metres: Annotated[bool, typer.Option("--metres", help="All in metres, not in feet.")] = False,
) -> None:
    """Estimate the volume of a pool from its measures, in feet."""
    unit_m = 1.0 if metres else FOOT_M
    answer = volume_by_measures(
        shape,
        length * unit_m,
        (length if width is None and shape is Shape.ROUND else width or 0) * unit_m,
        depth * unit_m,
        None if narrow is None else narrow * unit_m,
    )
    _say_volume(answer)


@water_app.command("volume-by-salt")
def volume_by_salt_command(
    before: Annotated[float, typer.Option(help="Salt read before, ppm.")],
    after: Annotated[float, typer.Option(help="Salt read after it has dissolved, ppm.")],
    pounds: Annotated[float | None, typer.Option(help="Salt added, lb.")] = None,
    added_kg: Annotated[float | None, typer.Option("--kg", help="Salt added, kg.")] = None,
) -> None:
    """Measure the volume of a pool by salt added and what the reading rose by."""
    mass_kg = added_kg if added_kg is not None else (pounds or 0) * POUND_KG
    _say_volume(volume_by_salt(mass_kg, before, after))


@water_app.command("ranges")
def ranges_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show published ranges, each with its source and edition."""
    from dispatch.actions.water import published_list

    show_list(published_list(), _("Published ranges"), to_csv=to_csv, to_json=to_json)


@water_app.command("targets")
def targets_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show the ranges in use: the company's own, else those delivered."""
    from dispatch.actions.water import target_list, targets

    with open_book(read_only=True) as (session, _settings):
        table = target_list(targets(session))
    show_list(table, _("Targets"), to_csv=to_csv, to_json=to_json)


@water_app.command("set-target")
def set_target_command(
    reading: Annotated[ReadingKind, typer.Argument(help="The reading, as ph.")],
    by: Annotated[str, typer.Option("--by", help="Who sets it; shown as its source.")],
    least: Annotated[float | None, typer.Option()] = None,
    ideal_low: Annotated[float | None, typer.Option()] = None,
    ideal_high: Annotated[float | None, typer.Option()] = None,
    most: Annotated[float | None, typer.Option()] = None,
    remark: Annotated[str, typer.Option("--note")] = "",
) -> None:
    """Set the company's own range of a reading, in the unit it is kept in."""
    from dispatch.actions.water import set_target

    with open_book(read_only=False) as (session, settings):
        figures = (least, ideal_low, ideal_high, most)
        target = set_target(session, settings, reading, figures, by=by, note=remark)
    say(f"{target.kind}: {target.told}.")


@water_app.command("reset-target")
def reset_target_command(
    reading: Annotated[ReadingKind, typer.Argument(help="The reading, as ph.")],
) -> None:
    """Go back to the delivered range of a reading."""
    from dispatch.actions.water import reset_target

    with open_book(read_only=False) as (session, _settings):
        reset_target(session, reading)
    say(_("{reading}: as delivered.").format(reading=reading))


def _say(answer: Answer) -> None:
    say(
        f"{answer.title}: {answer.text}",
        "  " + _("Method: {method} ({source})").format(method=answer.method, source=answer.source),
    )
    say("  " + _("From: {inputs}").format(inputs="; ".join(one.words for one in answer.inputs)))
    for words in answer.notes:
        say(f"  {words}")
    _cautions([answer])


def _say_volume(answer: Answer) -> None:
    """The volume in both units, as either may stand in the table of sites."""
    _say(answer)
    say("  " + _("That is {gallons:,.0f} US gallons.").format(gallons=gallons_of(answer.value)))


def _cautions(answers: list[Answer], of_all: tuple[str, ...] = ()) -> None:
    of_each = (caution for answer in answers for caution in answer.cautions)
    for words in dict.fromkeys((*of_all, *of_each)):
        note(words)
