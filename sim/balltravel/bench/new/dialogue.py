"""Questions and answers: asks blank after blank, keeps every answer at once, and makes the scenario."""

import textwrap
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from balltravel.bench.new.answers import DONT_KNOW, example, likely, plain_answer, with_unit_of_blank
from balltravel.bench.new.blanks import BLANKS, BY_NAME, OF_PARTS, Blank, in_system
from balltravel.bench.new.known import in_inches
from balltravel.bench.new.make import AS_BEFORE, Base, Made, asked, make, raw_answer
from balltravel.bench.new.usual import SHARES, SIZES, is_far
from balltravel.files.draft import Draft, keep_draft
from balltravel.material.kinds import KINDS
from balltravel.scenario.model import ScenarioError
from balltravel.scenario.rules.rule import Fault
from balltravel.units.display import prose, shown_in
from balltravel.units.printable import WIDTH, printable
from balltravel.units.systems import BOTH, METRIC, US

BACK, QUIT, MORE = ("<", "back"), ("q", "quit", "exit"), ("h", "help")
HELP = (
    "Type a number with its unit, then Enter; ? if you do not know (a range then stands for it); h for all "
    "that you may type; < to go back; q to stop. Every answer is kept at once: after q, Ctrl-C or a power "
    "cut the same command goes on. Before you measure: relieve pressure, lock out."
)


class Talk(Protocol):
    """Who asks and who says something, as a terminal does it."""

    def ask(self, prompt: str) -> str | None:
        """What somebody types, None at the end of all input."""

    def say(self, text: str) -> None:
        """Say something, of one or several lines."""


@dataclass
class Dialogue:
    """What is being made: the answers so far, where they are kept, the lower that one starts from, the units
    of the sheet if it is one, and whether the questions are explained."""

    draft: Draft
    path: str | Path
    base: Base | None
    system: str | None
    explained: bool
    talk: Talk
    doubted: str = ""
    """What was typed last and is far outside the usual; Enter or the same again says that it is right."""

    def hold(self) -> Made | None:
        """Ask until all is answered; None where somebody stops before. Raises FileError where an answer
        cannot be kept."""
        if self.explained:
            self._say(HELP)
        if self.draft.typed:
            self._say(f"Going on: {len(self.draft.typed)} of {len(BLANKS)} blanks are answered.")
        blank, again = self._first_open(), False
        while blank is not None:
            typed = self.talk.ask(self._prompt(blank, again))
            typed = None if typed is None else typed.strip()
            if typed is None or typed.lower() in QUIT:
                return None
            if typed.lower() in BACK:
                self.doubted = ""
                blank, again = self._before(blank), False
            elif typed.lower() in MORE:
                self._say(f"{self._allowed(blank)}. {DONT_KNOW}: not known; < back; q stop.", "   ")
                again = True
            else:
                again = not self._take(blank, typed)
                blank = blank if again else self._after(blank)
        made = make(self.draft, self.base, self.path, self.system)
        for table in made.left:
            self._say(f"[{table}] does not go with these answers: ranges stand for what was not asked of it.")
        return made

    def _asked(self) -> list[Blank]:
        return [blank for blank in BLANKS if asked(blank, self.draft.typed, self.base)]

    def _first_open(self) -> Blank | None:
        return next((blank for blank in self._asked() if blank.name not in self.draft.typed), None)

    def _before(self, blank: Blank) -> Blank:
        earlier = [other for other in self._asked() if BLANKS.index(other) < BLANKS.index(blank)]
        return earlier[-1] if earlier else blank

    def _after(self, blank: Blank) -> Blank | None:
        """The next blank, also one that is answered already: who went back comes by it again."""
        later = [other for other in self._asked() if BLANKS.index(other) > BLANKS.index(blank)]
        return later[0] if later else self._first_open()

    def _take(self, blank: Blank, typed: str) -> bool:
        """Take an answer and keep it; False, with what is wrong, where it cannot be one."""
        before, doubted, self.doubted = self._default(blank), self.doubted, ""
        if not typed and doubted:
            typed = doubted
        elif not typed and before is not None:
            typed = self.draft.typed.get(blank.name, AS_BEFORE)
        else:
            typed = with_unit_of_blank(blank, plain_answer(typed), self._unit(blank))
        if typed != doubted and self._is_far(blank, typed):
            self.doubted = typed
            usual = in_system(blank.typical, self._spoken())
            self._say(f"{typed} is far outside the usual {usual}. Is that right? Enter if so.", "   ")
            return False
        try:
            self._try(blank, typed)
        except ScenarioError as error:
            for fault in error.faults[:3]:
                self._say(_in_shop_words(fault, blank, self._spoken()), "   ")
            return False
        keep_draft(self.draft, self.path)
        return True

    def _is_far(self, blank: Blank, typed: str) -> bool:
        """Whether an answer that can be read is far outside the usual."""
        if blank.name not in (*SIZES, *SHARES) or typed in (AS_BEFORE, DONT_KNOW):
            return False
        try:
            size = likely(blank.key, raw_answer(blank, typed, self.base))
        except ScenarioError:
            return False
        return is_far(blank, [*size] if blank.name == "shims" else [size], self._size_of)

    def _size_of(self, name: str) -> float | None:
        """The likely size of a blank that is answered."""
        raw = raw_answer(BY_NAME[name], self.draft.typed.get(name, DONT_KNOW), self.base)
        return None if raw is None else float(likely(BY_NAME[name].key, raw))

    def _try(self, blank: Blank, typed: str) -> None:
        """The answers with this one; of those after it that are there from before, those that go with it.
        Raises ScenarioError where it does not go with the answers before it."""
        place = BLANKS.index(blank)
        later = {other.name for other in BLANKS[place + 1 :]}
        old = self.draft.typed
        trial = {name: text for name, text in old.items() if name not in later} | {blank.name: typed}
        make(Draft(trial, self.draft.base), self.base, self.path, self.system)
        for other in BLANKS[place + 1 :]:
            stale = blank.name == "shims" and other.name == "below" and old.get("shims") != typed
            if other.name not in old or stale or not asked(other, trial, self.base):
                continue
            try:
                make(Draft(trial | {other.name: old[other.name]}), self.base, self.path, self.system)
                trial[other.name] = old[other.name]
            except ScenarioError:
                self._say(f"   {other.letter}, {old[other.name]}, does not go with this: asked again.")
        self.draft.typed = trial

    def _default(self, blank: Blank) -> str | None:
        """What Enter alone leaves as it is."""
        typed = self.draft.typed.get(blank.name)
        if typed:
            return typed
        return self.base.value(blank) if self.base else None

    def _prompt(self, blank: Blank, again: bool) -> str:
        """The question, of which only the last line is said again after an answer that cannot be one."""
        default, unit = self._default(blank), self._unit(blank)
        printed = f" [{unit}]" if unit else ""
        kept = f" (Enter: {printable(default)})" if default is not None else ""
        kept = f" (Enter: {printable(self.doubted)} is right)" if self.doubted else kept
        if not self.explained:
            return f"{blank.letter}  {blank.asks}{printed}{kept}: "
        asks = f"{blank.letter}{printed}{kept} > "
        if again:
            return asks
        spoken = self._spoken()
        typical, unknown = (in_system(said, spoken) for said in (blank.typical, blank.unknown))
        said = [f"Measure: {blank.where}.", f"Usual: {typical}. {DONT_KNOW} takes {unknown}."]
        shown = f"Type it as in: {example(blank, spoken)}"
        said += [self._allowed(blank) if blank.name == "material" else shown]
        lines = [part for line in said for part in textwrap.wrap(line, WIDTH - 3, break_on_hyphens=False)]
        asked = self._asked()
        head = f"{asked.index(blank) + 1} of {len(asked)}  {blank.letter}  {blank.asks}"
        return "\n".join(["", head, *(f"   {line}" for line in lines), asks])

    def _spoken(self) -> str | None:
        """Units in which sizes are told: those of the sheet, else those of the answers so far."""
        inches = in_inches(self.draft.typed)
        return self.system or (None if inches is None else US if inches else METRIC)

    def _unit(self, blank: Blank) -> str:
        """The unit that a number alone has: that of the sheet, or of the sizes before; none for a hose's
        length, which may be in feet or inches."""
        return blank.unit(self.system) or (blank.unit(self._spoken()) if blank.units == OF_PARTS else "")

    def _allowed(self, blank: Blank) -> str:
        """All that one may type."""
        kinds, spoken = f": {', '.join(KINDS)}" if blank.name == "material" else "", self._spoken()
        with shown_in(spoken or BOTH):
            return prose(f"You may type {blank.accepted(spoken)}{kinds}")

    def _say(self, text: str, indent: str = "") -> None:
        self.talk.say(textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent))


def _in_shop_words(fault: Fault, blank: Blank, system: str | None) -> str:
    """A fault, with the letter of the blank that it is of where that is another one, and then without an
    example; one of its own with an example as one types it, not as a file has it."""
    key = {other.key: f"{other.letter} ({other.asks[0].lower()}{other.asks[1:]})" for other in BLANKS}
    own = fault.key.startswith(blank.key) or not fault.key
    if own and blank.name != "material":
        fault = replace(fault, example=example(blank, system))
    elif fault.key in key:
        fault = replace(fault, example="")
    return str(replace(fault, key="" if own else key.get(fault.key, fault.key)))
