"""What stands due, in words: overdue first, each with the reason it matters for the taste, and the cautions."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from diagnose.model import Setting
from diagnose.upkeep.lines import counted, listed, paragraph, row
from diagnose.upkeep.plan import CarePlan, Interval, Kit, text
from diagnose.upkeep.standing import Reach, Standing, State
from diagnose.upkeep.water import WaterUse

_AT: Mapping[Setting, str] = {"home": "at home", "service": "in service", "training": "in training"}
_HEADINGS: Mapping[State, str] = {
    "overdue": "Overdue",
    "due": "Due now",
    "not_known": "Not known: no date in this log",
    "unanswered": "Only with certain kit",
    "in_time": "In time",
}


def due_lines(
    plan: CarePlan, found: Sequence[Standing], setting: Setting, today: date, water: WaterUse
) -> Iterator[str]:
    """Yield the lines of ``diagnose care``."""
    yield f"Care {_AT[setting]} on {today}. The maker's manual goes before these intervals."
    pressing = [each for each in found if each.state in {"overdue", "due"}]
    if not pressing:
        yield ""
        yield "By this log nothing is due."
    for state, heading in _HEADINGS.items():
        if state == "not_known":
            yield from _cautions(plan, pressing)
        of_state = [each for each in found if each.state == state]
        if of_state:
            yield ""
            yield heading
        for each in of_state:
            yield from _one(plan, each, setting)
        if of_state and state == "not_known":
            yield from paragraph("Once done, or if you know when: diagnose care done ITEM --on DATE", 2)
    yield from _water_hint(plan, found, water)


def _one(plan: CarePlan, each: Standing, setting: Setting) -> Iterator[str]:
    item = plan.items[each.item]
    if each.state in {"overdue", "due"}:
        yield from paragraph(f"{text(item.name)} ({each.item})", 2)
        yield from paragraph(f"Last done {each.done_on}: {passed(each)}.", 4)
        yield from paragraph(f"Why: {text(item.why)}", 4, 2)
        if each.state == "overdue" or setting != "service":  # what a bar does every day it knows
            yield from paragraph(f"How: {text(item.how)}", 4, 2)
    elif each.state == "not_known":
        yield from _row(each.item, f"every {interval(item.every.at(setting))}")
    elif each.missing is not None:
        yield from _row(each.item, f"{condition(plan, each.missing)}; not known, tell it in the chat")
    else:
        yield from _row(each.item, f"{passed(each)}{_next(each.due_on)}")


def _row(name: str, said: str) -> list[str]:
    return ["  " + line for line in row([name, said], [18, 58])]


def passed(each: Standing) -> str:
    """Return what has passed and what may: ``29 days ago (every 14), 41 logged shots since (every 40)``.

    What is furthest along stands first; what is not half way there is left out beside it.
    """
    first, *others = sorted(each.reaches, key=lambda reach: -reach.share)
    return ", ".join(map(_passed, [first, *(reach for reach in others if reach.share >= 0.5)]))


def _passed(reach: Reach) -> str:
    if reach.kind == "scale":
        return f"at most {reach.since:.0f} g of scale since (limit {reach.every:g} g)"
    if reach.kind == "days" and reach.since < 2:
        every = "day" if reach.every == 1 else f"{reach.every:g} days"
        return f"{'yesterday' if reach.since else 'today'} (every {every})"
    said = {
        "days": f"{reach.since:g} days ago",
        "shots": f"{counted(reach.since, 'logged shot')} since",
        "litres": f"{reach.since:.0f} litres since",
    }[reach.kind]
    return f"{said} (every {reach.every:g})"


def _next(due_on: date | None) -> str:
    return "" if due_on is None else f"; due {due_on}"


def interval(every: Interval) -> str:
    """Return an interval in words: ``14 days or 40 shots``."""
    shots = None if every.shots is None else counted(every.shots, "shot")
    years, rest = divmod(every.days, 365)
    return listed(filter(None, [counted(every.days, "day") if rest else counted(years, "year"), shots]))


def condition(plan: CarePlan, kit: Kit) -> str:
    """Return what the kit must be: ``only with: exhaust valve fitted``."""
    return f"only with: {listed(plan.levels[kit.finding, level] for level in kit.levels)}"


def _cautions(plan: CarePlan, pressing: Iterable[Standing]) -> Iterator[str]:
    """Yield the cautions of everything that is to be done now, each once."""
    names = [name for each in pressing for name in (*plan.items[each.item].cautions, *plan.items[each.item].afterwards)]
    if names:
        yield ""
        yield "Before you start"
    for name in dict.fromkeys(names):
        yield from paragraph(f"- {plan.notices[name]}", 2, 2)


def _water_hint(plan: CarePlan, found: Iterable[Standing], water: WaterUse) -> Iterator[str]:
    """Yield what the water can have left since the last descaling, or how to have it reckoned."""
    for each in found:
        if not plan.items[each.item].about_scale or each.state == "not_here":
            continue
        if water.scale_g(1) is None:
            yield ""
            yield from paragraph(
                "With the hardness of the water and the litres a day the scale can be reckoned: "
                "diagnose care water --hardness '8 dH' --litres 1.5"
            )
        elif each.scale_g is not None and all(reach.kind != "scale" for reach in each.reaches):
            yield ""
            yield from paragraph(
                f"Since it was last descaled on {each.done_on} the water can have left {each.scale_g:.0f} g of scale, "
                "if all of it stayed in the machine."
            )


def table(plan: CarePlan, found: Iterable[Standing], setting: Setting) -> Iterator[str]:
    """Yield the lines of ``diagnose care list``: item, interval, when it was last done and how it stands."""
    widths = (17, 24, 10, 23)
    yield from row(["item", f"every ({_AT[setting]})", "last done", "state"], widths)
    for each in found:
        every = interval(plan.items[each.item].every.at(setting))
        done = "-" if each.done_on is None else str(each.done_on)
        yield from row([each.item, every, done, _state(each)], widths)


def _state(each: Standing) -> str:
    if each.state == "in_time":
        return f"in time{_next(each.due_on)}"
    return {"overdue": "overdue", "due": "due now", "not_known": "not known"}.get(each.state) or (
        "not for this kit" if each.state == "not_here" else "only with certain kit"
    )


def written_lines(plan: CarePlan, found: Iterable[Standing], rows: Mapping[str, int], done: date) -> Iterator[str]:
    """Yield what was written down, when it comes round again, and what to do before anybody is served."""
    by_name = {each.item: each for each in found}
    notices: dict[str, None] = {}
    for name, number in rows.items():
        each, item = by_name[name], plan.items[name]
        due = "" if each.due_on is None else f" Due again on {each.due_on}."
        yield from paragraph(f"Written down as row {number}: {text(item.name)}, {done}.{due}", 0, 2)
        if each.missing is not None:
            yield from paragraph(f"Careful: {condition(plan, each.missing)}.", 2)
        notices |= dict.fromkeys(item.afterwards)
    for notice in notices:
        yield from paragraph(plan.notices[notice])
    yield from paragraph(
        f"By mistake? `diagnose log retract {next(iter(rows.values()))}` takes back what has that row."
    )


def water_lines(water: WaterUse) -> Iterator[str]:
    """Yield what is known of the water and the most scale it leaves."""
    told = {
        "hardness": (water.hardness, "mg/L as CaCO3"),
        "alkalinity": (water.alkalinity, "mg/L as CaCO3"),
        "through the machine": (water.litres_per_day, "litres a day"),
        "a cartridge lasts": (water.filter_litres, "litres"),
    }
    for name, (value, unit) in told.items():
        said = "not known" if value is None else f"{value:.4g} {unit}"
        yield from row([name, said], [20, 58])
    daily = water.scale_g(1)
    if daily is None:
        return
    yield from paragraph(
        f"It leaves at most {daily * 30:.1f} g of scale in 30 days: a bound, as if all of the carbonate hardness "
        "came out and stayed in the machine."
    )
