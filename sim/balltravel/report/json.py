"""Results in the form of strict JSON: SI units, nothing that JSON does not know."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Protocol

from balltravel import __version__
from balltravel.estimate.preview import Preview
from balltravel.scenario.model import Scenario, defaults_taken, flat
from balltravel.scenario.unknowns import origin_of, range_in_words, spreads_of
from balltravel.units.display import prose

if TYPE_CHECKING:
    from pathlib import Path

    import xarray as xr

    from balltravel.bench.calibrate.calibrate import Calibration
    from balltravel.bench.history.entries import Entry
    from balltravel.bench.new.make import Made
    from balltravel.estimate.check_resistance import ResistanceReport
    from balltravel.files.week import WeekMaterial
    from balltravel.material.kinds import Kind
    from balltravel.study.cycle_report import CycleReport
    from balltravel.study.lesson.lesson import Lesson
    from balltravel.study.limits.find import LimitsReport
    from balltravel.study.site.priming import Priming
    from balltravel.study.site.priming_setup import PrimingSetup
    from balltravel.study.site.suction_head import SuctionReport
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.verdict.record import Answer, Verdict
    from balltravel.study.week.recommend import Week


class Report(Protocol):
    """A result that says itself what its numbers are."""

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""


def strict(value: Any) -> Any:
    """The same value in JSON's own types: numpy numbers as plain ones, nan and infinity as null."""
    if isinstance(value, Mapping):
        return {str(key): strict(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [strict(item) for item in value]
    item = value.item() if hasattr(value, "item") else value
    return None if isinstance(item, float) and not math.isfinite(item) else item


def check_dict(scenario: Scenario, preview: Preview, _: Mapping[str, str]) -> dict[str, Any]:
    """Scenario with its defaults [SI], the keys that took one, what is not known exactly, and what follows,
    ready for JSON."""
    return {
        "scenario": scenario_dict(scenario),
        "defaults_taken": defaults_taken(scenario),
        "not_known_exactly": unknowns_dict(scenario),
        "derived": asdict(preview),
    }


def lesson_dict(scenario: Scenario, lesson: "Lesson", page: "Path", size: int) -> dict[str, Any]:
    """The page, and what it shows, ready for JSON."""
    return {"scenario": scenario_dict(scenario), "page": str(page), "bytes": size, **lesson.as_dict()}


def unknowns_dict(scenario: Scenario) -> dict[str, Any]:
    """Key -> its value, its range in words and as a law of chance [SI], and where that is from."""
    values = flat(scenario)
    return {
        key: {
            "value": values[key],
            "range": range_in_words(key, spread),
            "from": prose(origin_of(key, spread)),
            "law": asdict(spread),
        }
        for key, spread in spreads_of(scenario).items()
    }


def scenario_dict(scenario: Scenario) -> dict[str, Any]:
    """A scenario with its defaults [SI], ready for JSON."""
    tables: dict[str, Any] = {"title": scenario.title}
    for key, value in flat(scenario).items():
        table, _, name = key.partition(".")
        tables.setdefault(table, {})[name] = value
    return tables


def kind_dict(kind: "Kind") -> dict[str, Any]:
    """A kind of material [SI]: ranges as pairs, the example by the scenario's keys."""
    return asdict(kind)


def kinds_dict(kinds: "Mapping[str, Kind]") -> dict[str, Any]:
    """All kinds of material by name [SI]."""
    return {name: kind_dict(kind) for name, kind in kinds.items()}


def report_dict(_: Scenario, report: Report) -> dict[str, Any]:
    """A report that says itself what its numbers are [SI]."""
    return report.as_dict()


def calibration_dict(
    scenario: Scenario,
    calibration: "Calibration",
    verdicts: "Sequence[Verdict | None]" = (None, None),
    path: str = "",
) -> dict[str, Any]:
    """What was learnt, the scenario with its new ranges, the verdict before and after (None where it was left
    out) and the name of the file that was written, if any."""
    before, after = (verdict and strict(asdict(verdict)) for verdict in verdicts)
    return {
        "title": scenario.title,
        **calibration.as_dict(),
        "verdict_before": before,
        "verdict_after": after,
        "written": path,
        "scenario": scenario_dict(calibration.scenario),
    }


def resistance_dict(report: "ResistanceReport") -> dict[str, Any]:
    """The resistance of checks: pure numbers."""
    return report.as_dict()


def suction_dict(scenario: Scenario, report: "SuctionReport") -> dict[str, Any]:
    """Suction heads [SI] with the title of their scenario."""
    return {"title": scenario.title, **report.as_dict()}


def recommendation_dict(scenario: Scenario, recommendation: "Recommendation") -> dict[str, Any]:
    """A recommendation [SI] with the scenario that it is for and the version that made it."""
    return {
        "title": scenario.title,
        "version": __version__,
        **recommendation.as_dict(),
        "scenario": scenario_dict(scenario),
    }


def answer_dict(scenario: Scenario, answer: "Answer") -> dict[str, Any]:
    """A recommendation [SI] with its verdict, as ``recommendation_dict``."""
    return recommendation_dict(scenario, replace(answer.recommendation, verdict=answer.verdict))


def limits_dict(scenario: Scenario, report: "LimitsReport") -> dict[str, Any]:
    """Limits and effects [SI] with the scenario that they are of and the version that made them."""
    return {
        "title": scenario.title,
        "version": __version__,
        **report.as_dict(),
        "scenario": scenario_dict(scenario),
    }


def week_dict(materials: "Sequence[WeekMaterial]", week: "Week") -> dict[str, Any]:
    """A week [SI] with the scenarios that it is for, by material, and the version that made it."""
    from balltravel.study.week.reasons import flush_lines, week_reasons

    return {
        "title": materials[0].scenario.title,
        "version": __version__,
        **week.as_dict(),
        "reasons": [*week_reasons(materials, week), *flush_lines(materials, week)],
        "scenarios": {material.name: scenario_dict(material.scenario) for material in materials},
    }


def simulation_dict(_: Scenario, report: "CycleReport") -> dict[str, Any]:
    """A cycle's numbers [SI]; the metrics are None when the run failed."""
    cycle = report.cycle
    numbers = None if cycle.metrics is None else asdict(cycle.metrics)
    return {
        "title": cycle.scenario.title,
        "status": cycle.status.name.lower(),
        "advice": cycle.status.advice,
        "cycles": cycle.cycles,
        "delivered_change": cycle.delivered_change,
        "metrics": numbers,
        "loss_budget": numbers and numbers["loss_budget"],
        "volume_residual": numbers and numbers["volume_residual"],
        "excursions": [asdict(excursion) for excursion in cycle.excursions],
        "port_compliance": [tried._asdict() for tried in report.port],
        "warnings": list(report.warnings),
    }


def sweep_dict(_: Scenario, data: "xr.Dataset") -> dict[str, Any]:
    """A sweep [SI]: swept keys, and every variable as nested lists in the order of ``dims``."""
    dims = [str(dim) for dim in data["status"].dims]
    words = data["status"].attrs["flag_meanings"].split()
    return {
        "title": data.attrs["title"],
        "dims": dims,
        "coordinates": {str(name): _variable(variable) for name, variable in data.coords.items()},
        "status_meanings": dict(zip(map(str, data["status"].attrs["flag_values"]), words, strict=True)),
        "variables": {str(name): _variable(variable) for name, variable in data.data_vars.items()},
    }


def _variable(variable: "xr.DataArray") -> dict[str, Any]:
    key = {"key": variable.attrs["key"]} if "key" in variable.attrs else {}
    return {
        **key,
        "units": variable.attrs.get("units"),
        "long_name": variable.attrs.get("long_name"),
        "dims": [str(dim) for dim in variable.dims],
        "values": variable.values.tolist(),
    }


def priming_dict(title: str, setup: "PrimingSetup", priming: "Priming") -> dict[str, Any]:
    """Priming, all of it but the trace [SI]."""
    from balltravel.report.text.prime import sentence, warnings

    rows = ("filled", "climbed", "port", "lowest", "expelled")
    return {
        "title": title,
        "outcome": priming.outcome,
        "sentence": sentence(setup, priming),
        "time": priming.time,
        "cycles": priming.cycles,
        "cycles_to_fill": priming.to_fill,
        "outlet_pressure": setup.outlet,
        "hose_volume": setup.hose_volume,
        "swept_volume": setup.swept,
        "cracking_pressure": {"inlet": setup.inlet.cracking, "piston": setup.piston.cracking},
        "limits": priming.limits._asdict(),
        "residual": priming.residual,
        "by_cycle": {name: getattr(priming, name).tolist() for name in rows},
        "warnings": warnings(setup, priming),
    }


def new_dict(path: str, made: "Made") -> dict[str, Any]:
    """A scenario that was made: its file, the blanks that were answered and those that nobody knows."""
    return {
        "scenario": path,
        "answered": list(made.answered),
        "unknown": list(made.unknown),
        "text": made.text,
    }


def worksheet_dict(path: str, system: str) -> dict[str, Any]:
    """A worksheet that was made."""
    return {"worksheet": path, "units": system}


def added_dict(entry: "Entry", path: str, number: int, aside: Sequence[str]) -> dict[str, Any]:
    """An entry that was added to a history: its number there, and itself [SI]."""
    return {"history": path, "number": number, "entry": entry.as_dict(), "set_aside": list(aside)}
