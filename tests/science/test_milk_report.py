"""The report on a jug: figures, times, and the warnings each jug calls for."""

import json
from dataclasses import asdict, replace

import pytest

from diagnose.errors import OutOfRange
from diagnose.science.milk.heat import Steaming
from diagnose.science.milk.report import milk_report
from diagnose.science.milk.safety import SCALD_TIMES, scald_time
from diagnose.science.milk.texturing import Progress

JUG = Steaming(200.0, 5.0, 65.0)


def _said(jug: Steaming) -> str:
    """All cautions of a jug in one text."""
    return " ".join(milk_report(jug).cautions)


def test_report_carries_the_balance() -> None:
    """The report of 200 g from 5 to 65 degC holds 19.4 g condensate, 8.8 % of the cup, and 120.4 degC steam."""
    report = milk_report(JUG)
    assert round(report.balance.condensate_g, 1) == 19.4
    assert round(report.balance.percent_of_final, 1) == 8.8
    assert round(report.steam.temperature_degc, 1) == 120.4
    assert report.wet_steam_extra_g == 0.0
    assert report.shut_steam is not None
    assert (report.shut_steam.low, report.shut_steam.high) == (62.0, 63.0)


def test_report_serialises() -> None:
    """As plain dicts it goes to JSON and back unchanged."""
    plain = asdict(milk_report(JUG, Progress(10.0, 25.0)))
    assert json.loads(json.dumps(plain))["balance"] == plain["balance"]


def test_times_from_progress_or_rate_or_none() -> None:
    """Progress goes before a rate; with neither there are no times."""
    assert milk_report(JUG).times is None
    by_rate = milk_report(JUG, rate_degc_s=2.0).times
    assert by_rate is not None
    assert by_rate.air_s == pytest.approx(16.0)
    assert by_rate.total_s == pytest.approx(30.0)
    seen = milk_report(JUG, Progress(16.0, 37.0), rate_degc_s=9.0).times
    assert seen is not None
    assert seen.air_s == pytest.approx(16.0)
    assert seen.total_s > 30.0


def test_no_shutting_advice_outside_serving_temperatures() -> None:
    """Milk stopped at 30 degC or at 85 degC gets no advice for shutting early."""
    assert milk_report(replace(JUG, stop_degc=30.0)).shut_steam is None
    assert milk_report(replace(JUG, stop_degc=85.0)).shut_steam is None


def test_steam_warning_is_always_first() -> None:
    """Whatever the jug, the wand comes first."""
    for stop in (30.0, 65.0, 85.0):
        assert milk_report(replace(JUG, stop_degc=stop)).cautions[0].startswith("Steam")


def test_scald_warning_from_55_degc() -> None:
    """Milk at 55 degC and above scalds within half a minute and says so; at 40 and 50 degC it does not."""
    assert "17 s" in _said(replace(JUG, stop_degc=55.0))
    assert "2 s" in _said(JUG)
    assert "scalds an adult" not in _said(replace(JUG, stop_degc=50.0))
    assert "scalds an adult" not in _said(replace(JUG, stop_degc=40.0))


def test_cooked_warning_above_70() -> None:
    """70 degC carries no cooked warning, 71 does."""
    assert "cooked" not in _said(replace(JUG, stop_degc=70.0))
    assert "cooked" in _said(replace(JUG, stop_degc=71.0))


def test_cold_chain_warnings() -> None:
    """Milk up to 5 degC passes, above it the time limit is named, from 21 degC throwing it away is."""
    assert "food code" not in _said(JUG)
    assert "4 h" in _said(replace(JUG, start_degc=8.0))
    assert "throwing it away" in _said(replace(JUG, start_degc=21.0))


def test_scald_table_is_ordered() -> None:
    """Hotter is faster all the way, and third degree always takes longer than second."""
    assert [row.temperature_degc for row in SCALD_TIMES] == sorted(row.temperature_degc for row in SCALD_TIMES)
    assert [row.second_degree_s for row in SCALD_TIMES] == sorted(
        (r.second_degree_s for r in SCALD_TIMES), reverse=True
    )
    assert all(row.third_degree_s > row.second_degree_s for row in SCALD_TIMES if row.third_degree_s is not None)


def test_scald_time_errs_to_the_hotter_row() -> None:
    """Between rows the hotter one is given; below 43 degC none; above the last, the last."""
    between = scald_time(57.0)
    assert between is not None
    assert between.temperature_degc == 60.0
    assert scald_time(42.0) is None
    assert scald_time(95.0) == SCALD_TIMES[-1]
    with pytest.raises(OutOfRange, match="0 to 200 degC"):
        scald_time(300.0)
