"""A water as fields of the flat object: the unit at the end of each name, null where something is not known."""

from diagnose.report.answer import Answer
from diagnose.report.digits import Figure
from diagnose.report.water_figures import OWN_UNITS, Findings, Index, Source
from diagnose.report.water_text import chalk_bound, shown_items
from diagnose.science.water.composition import Water
from diagnose.science.water.report import ASSUMED_PH

_PLAIN = (
    "calcium_mg_l", "magnesium_mg_l", "sodium_mg_l", "potassium_mg_l", "bicarbonate_mg_l", "chloride_mg_l",
    "sulfate_mg_l", "chlorine_mg_l", "ph", "conductivity_us_cm",
)  # fmt: skip


def enter(said: Answer, found: Findings, prefix: str) -> None:
    """Enter a water under names that begin with `prefix`.

    Hardness and alkalinity come in every unit (alkalinity without mmol/L, which can mean two things). An index comes
    as its low and high end, alike where it is known to a tenth. `..._standing` is below, within, above or not known
    against the published table, `..._from_target` the distance from its target.
    """
    for name, figure in (("hardness", found.hardness), ("alkalinity", found.alkalinity)):
        units = {unit: one for unit, one in OWN_UNITS.items() if name == "hardness" or unit != "mmol_l"}
        said.figures({f"{prefix}{name}_{unit}": _times(figure, 1.0 / one) for unit, one in units.items()})
    said.figures({f"{prefix}{name}": _told(found.source, name) for name in _PLAIN})
    said.figures(
        {
            f"{prefix}calcium_hardness_mg_l_caco3": found.calcium,
            f"{prefix}dissolved_solids_mg_l": found.solids,
            f"{prefix}scale_bound_g_per_1000_l": chalk_bound(found),
        }
    )
    for name, index in (("water", found.water), ("brew", found.brew), ("boiler", found.boiler)):
        _index(said, index, f"{prefix}{name}")
    judgement, assumed = found.judgement, found.report.water.ph is None and found.boiler is not None
    said.fields |= {
        f"{prefix}ph_assumed": ASSUMED_PH if assumed else None,
        f"{prefix}judgement": judgement.overall,
        f"{prefix}corrosion": judgement.corrosion,
        f"{prefix}cup": judgement.cup,
    }
    _table(said, found, prefix)


def _told(source: Source, name: str) -> Figure | None:
    """Return one number of the water itself."""

    def get(water: Water) -> float | None:
        value: float | None = getattr(water, name)
        return value

    return source.figure(get)


def _times(figure: Figure | None, factor: float) -> Figure | None:
    return None if figure is None else figure.times(factor)


def _index(said: Answer, index: Index | None, name: str) -> None:
    """Enter both indices at one temperature."""
    low, high = index.ends("langelier") if index else (None, None)
    least, most = index.ends("ryznar") if index else (None, None)
    said.fields |= {
        f"{name}_temperature_degc": index.degc.rounded if index else None,
        f"{name}_langelier_low": low,
        f"{name}_langelier_high": high,
        f"{name}_ryznar_low": least,
        f"{name}_ryznar_high": most,
        f"{name}_level": index.level if index else None,
    }


def _table(said: Answer, found: Findings, prefix: str) -> None:
    """Enter where the water stands against the published table."""
    for entry, figure in shown_items(found):
        name = f"{prefix}{entry.item.name.lower().replace(' ', '_')}"
        distance = None if figure is None else Figure(figure.value - entry.item.target, figure.half).rounded
        said.fields |= {f"{name}_standing": entry.standing, f"{name}_from_target": distance}
