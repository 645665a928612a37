"""Commands about the site and wear. Heavy imports stand inside."""

from dataclasses import replace
from typing import Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.given import RefusedError, quantity_given
from balltravel.cli.run import RunError


def _suction(job: Job) -> tuple[Any, ...]:
    from balltravel.cycle.found_rate import RateNotFoundError
    from balltravel.study.site.suction_head import suction_report

    try:
        return job.scenario, suction_report(job.scenario)
    except RateNotFoundError as error:
        raise RunError(str(error)) from None


def _prime(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.priming import PrimingError, prime
    from balltravel.study.site.priming_setup import setup_of

    against = quantity_given("--against", job.arguments.against, "pressure")
    if not 0.0 <= against <= 1e8:
        allowed = "allowed: 0 bar to 100 MPa gauge; example: 0 bar"
        raise RefusedError(f"--against: {job.arguments.against} given; {allowed}")
    try:
        setup = setup_of(job.scenario, against)
        return job.scenario.title, setup, prime(setup)
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    except PrimingError as error:
        raise RunError(str(error)) from None


def _wear(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.wear import GAP, GAPS, wear_report

    given = job.arguments.gap
    gap = GAP if given is None else quantity_given("--gap", given, "length")
    try:
        return job.scenario, wear_report(job.scenario, gap, progress=job.progress)
    except ScenarioError as error:
        (fault,) = error.faults
        told = replace(fault, key="--gap", given=f'"{given}" given', example=f'"{GAPS.example}"')
        raise RefusedError(str(told)) from None


SUCTION = Command(
    "suction",
    "Print NPSH available and required, and what is left in the vessel.",
    _suction,
    "report.text.suction:suction_text",
    "report.json:suction_dict",
    examples=('suction scenarios/primer.toml --set "suction.altitude=1500 m"',),
)

PRIME = Command(
    "prime",
    "Cycles until material fills a suction hose and a lower full of air.",
    _prime,
    "report.text.prime:priming_text",
    "report.json:priming_dict",
    figure="report.figures.prime:priming_figure",
    draws="it over the cycles",
    options=(
        option(
            "--against",
            default="0 bar",
            metavar="PRESSURE",
            help="gauge pressure at the outlet meanwhile; none by default, as with an open prime valve",
        ),
    ),
    examples=("prime scenarios/primer.toml --figure priming.png",),
    compiled=False,
)

WEAR = Command(
    "wear",
    "Print what worn seats and packings do, each by itself.",
    _wear,
    "report.text.wear:wear_text",
    "report.json:report_dict",
    options=(option("--gap", metavar="LENGTH", help='gap that is tried, "30 um" by default'),),
    examples=('wear scenarios/primer.toml --gap "50 um"',),
    counts="states of wear",
)

SITE = (SUCTION, PRIME, WEAR)
