"""A folder in which every finished chunk of a study is a whole file, so that nothing of it is lost."""

import hashlib
import io
import json
import re
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.files.read_write import FileError, sealed, unsealed, write_whole
from balltravel.scenario.arguments import refused
from balltravel.sweeps.columns import Columns, schema
from balltravel.sweeps.engine import Chunk, PlanLike
from balltravel.sweeps.folder.lock import HeldError, locked
from balltravel.sweeps.origin import origin

STUDY, RESULT = "study.json", "result.nc"

CHUNK = re.compile(r"cases_(\d{9,})_(\d{9,})\.npz")

LEFT_OVER = re.compile(rf"\.({re.escape(STUDY)}|{re.escape(RESULT)}|{CHUNK.pattern})\..+\.part")
"""A file that a killed run was writing: it never got its name."""

MOST_DIFFERENCES = 5


@dataclass(frozen=True)
class Study:
    """What a chunk's numbers depend on, all of it."""

    title: str
    cases: int
    rtol: float
    origin: str
    values: str
    scenario: dict[str, Any]
    swept: dict[str, list[str]]

    @property
    def digest(self) -> str:
        """The same for the same numbers."""
        return _digest(asdict(self))


def study_of(plan: PlanLike, rtol: float, device: str = "cpu") -> Study:
    """The study that computes a plan here, on a device: another one may differ in the last digit."""
    scenario = json.loads(plan.scenario.model_dump_json(exclude_unset=True))
    where = origin() if device == "cpu" else f"{origin()}, on a {device}"
    swept = {key: list(told) for key, told in plan.described().items()}
    return Study(plan.scenario.title, len(plan), rtol, where, plan.digest(), scenario, swept)


def _digest(values: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()


@dataclass
class Store:
    """The chunks of a study in a folder: ``block`` cases each, 0 while nobody has chosen how many; ``cases``
    are finished, ``damaged`` chunks are there but not sound."""

    folder: Path
    study: Study
    block: int = 0
    cases: int = 0
    finished: set[Chunk] = field(default_factory=set)
    damaged: int = 0

    def add(self, chunk: Chunk) -> None:
        """Count a chunk that is there and sound."""
        self.finished.add(chunk)
        self.cases += chunk.stop - chunk.start

    def chunks(self) -> Iterator[Chunk]:
        """All chunks of the study in order."""
        for start in range(0, self.study.cases, self.block):
            yield Chunk(start, min(start + self.block, self.study.cases))

    def missing(self) -> Iterator[Chunk]:
        """Those that are not finished."""
        return (chunk for chunk in self.chunks() if chunk not in self.finished)

    def begin(self, block: int) -> None:
        """Set how many cases a chunk has, once and for all runs."""
        about = {**asdict(self.study), "study": self.study.digest, "block": block}
        text = json.dumps({**about, "sha256": _digest(about)}, indent=1)
        with self.told():
            write_whole(text.encode(), self.folder / STUDY)
        self.block = block

    def put(self, chunk: Chunk, columns: Columns) -> None:
        """Keep a finished chunk: the file is whole on the disk, or not there."""
        with self.told():
            write_whole(_packed(self.study, self.block, chunk, columns), self._path(chunk))
        self.add(chunk)

    def get(self, chunk: Chunk) -> Columns:
        """A finished chunk; raises OSError if it is not there and ValueError if it is not sound."""
        columns, study, place = _unpacked(self._path(chunk).read_bytes())
        if (study, *place) != (self.study.digest, self.block, *chunk):
            raise ValueError("a chunk of another study")
        _check_schema(columns, chunk.stop - chunk.start)
        return columns

    def blocks(self) -> Iterator[tuple[int, Columns]]:
        """First case and numbers of every chunk in order, one in memory at a time; raises FileError."""
        for chunk in self.chunks():
            with self.told("read"):
                columns = self.get(chunk)
            yield chunk.start, columns

    def _path(self, chunk: Chunk) -> Path:
        return self.folder / f"cases_{chunk.start:09d}_{chunk.stop:09d}.npz"

    @contextmanager
    def told(self, verb: str = "written") -> Iterator[None]:
        """Turns what the system refuses into a FileError: the folder, why, its free space, what is kept."""
        try:
            yield
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            room = ""
            with suppress(OSError, AttributeError):
                free = shutil.disk_usage(self.folder).free
                room = (
                    f" ({free / 1e9:.3g} GB free there)"
                    if free >= 1e9
                    else f" ({free / 1e6:.3g} MB free there)"
                )
            kept = f"{self.cases} of {self.study.cases} cases are finished and stay"
            kept = kept if self.finished else "what was finished in it stays"
            again = "the same command goes on when that is mended"
            raise FileError(f"{self.folder}: cannot be {verb}: {reason}{room}; {kept}; {again}") from None


@contextmanager
def opened(folder: Path, study: Study) -> Iterator[Store]:
    """The folder of a study, made if need be and held by this run alone; ``finished`` has its sound chunks.

    Raises ScenarioError for a folder of another study, with other files or in which another run is at work,
    and FileError where the disk does not let one write. Nothing in it is changed then.
    """
    store = Store(folder, study)
    if not folder.is_dir():
        _make(store)
    with store.told("read"):
        names = sorted(path.name for path in folder.iterdir())
    _refuse_foreign(folder, names)
    about = _about(folder)
    if about is not None:
        _refuse_another(folder, about[0], study)
        store.block = about[1]
    with ExitStack() as until:
        _hold(store, until)
        for name in names:
            if LEFT_OVER.fullmatch(name):
                (folder / name).unlink(missing_ok=True)
        _find_finished(store, names)
        yield store


def _make(store: Store) -> None:
    folder = store.folder
    allowed = "the name of a folder, new or of this study, in one that exists"
    if folder.exists():
        raise refused(str(folder), "this is a file", allowed, "primer_sweep")
    if not folder.parent.is_dir():
        raise refused(str(folder), f"no folder {folder.parent}", allowed, "primer_sweep")
    with store.told():
        folder.mkdir()


def _hold(store: Store, until: ExitStack) -> None:
    """Lock the folder until the stack ends."""
    try:
        with store.told():
            until.enter_context(locked(store.folder))
    except HeldError:
        given = "another run is at work in it"
        raise refused(str(store.folder), given, "one run at a time", "wait for it, or end it") from None


def _refuse_foreign(folder: Path, names: list[str]) -> None:
    """Only hidden files may stand beside those of a sweep, for systems make them unasked."""
    ours = {name for name in names if name in (STUDY, RESULT) or CHUNK.fullmatch(name)}
    foreign = [name for name in names if name not in ours and not name.startswith(".")]
    if foreign:
        more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        allowed = "an empty or new folder, or that of this sweep alone; nothing in it was changed"
        raise refused(str(folder), f"it has other files: {foreign[0]}{more}", allowed, "primer_sweep")


def _about(folder: Path) -> tuple[Study, int] | None:
    """Which study the folder says that it holds, and the cases of a chunk; None if it says nothing sound."""
    try:
        about = json.loads((folder / STUDY).read_bytes())
        digest = about.pop("sha256")
        if digest != _digest(about):
            return None
        return Study(**{part.name: about[part.name] for part in fields(Study)}), int(about["block"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _refuse_another(folder: Path, there: Study, here: Study) -> None:
    differences = list(_differences(there, here))
    if differences:
        shown = differences[:MOST_DIFFERENCES]
        if len(differences) > len(shown):
            shown.append(f"{len(differences) - len(shown)} more differences")
        allowed = "the folder of this very study, or a new one"
        raise refused(str(folder), f"it holds another study: {'; '.join(shown)}", allowed, "primer_sweep_2")


def _differences(there: Study, here: Study) -> Iterator[str]:
    """What is not the same, each in some words."""
    for name, words in (("origin", "program"), ("rtol", "tolerance")):
        if getattr(there, name) != getattr(here, name):
            yield f"{words} {getattr(there, name)} there, {getattr(here, name)} now"
    old, new = _flat(there.scenario), _flat(here.scenario)
    for key in {**old, **new}:
        if old.get(key) != new.get(key):
            yield f"{key} {_shown(old, key)} there, {_shown(new, key)} now"
    swept = list(_differences_swept(there.swept, here.swept))
    yield from swept
    if there.cases != here.cases:
        yield f"number of cases {there.cases} there, {here.cases} now"
    elif there.values != here.values and old == new and not swept:
        yield "the values swept over"


def _differences_swept(there: dict[str, list[str]], here: dict[str, list[str]]) -> Iterator[str]:
    """Which keys are swept over other values; each key has these in words, and their digest."""
    for key in {**there, **here}:
        old, new = (swept.get(key, ["not swept", ""]) for swept in (there, here))
        if old[0] != new[0]:
            yield f"{key} {old[0]} there, {new[0]} now"
        elif old != new:
            yield f"{key} other values, of the same number and ends"
    if there == here and list(there) != list(here):
        yield "the order of the keys swept over"


def _flat(tables: dict[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for table, value in tables.items():
        flat |= (
            {f"{table}.{key}": v for key, v in value.items()} if isinstance(value, dict) else {table: value}
        )
    return flat


def _shown(values: dict[str, Any], key: str) -> str:
    text = json.dumps(values[key]) if key in values else "not given"
    return text if len(text) <= 40 else f"{text[:37]}..."


def _find_finished(store: Store, names: list[str]) -> None:
    """Look at every chunk that is there; of a folder that has lost its study.json learn from the chunks."""
    spans = [Chunk(*map(int, match.groups())) for name in names if (match := CHUNK.fullmatch(name))]
    if not store.block and spans:
        store.begin(_block_of(store, spans))
    expected = set(store.chunks()) if store.block else set()
    strange = [chunk for chunk in spans if chunk not in expected]
    if strange:
        given, allowed = (
            f"it has chunks of another cut ({store._path(strange[0]).name})",
            "those of this sweep",
        )
        raise refused(str(store.folder), given, allowed, "primer_sweep_2")
    for chunk in spans:
        try:
            store.get(chunk)
        except (OSError, ValueError):
            store.damaged += 1
        else:
            store.add(chunk)


def _block_of(store: Store, spans: list[Chunk]) -> int:
    """The cases of a chunk, as any sound chunk of the study has it."""
    for chunk in spans:
        with suppress(OSError, ValueError):
            _, study, place = _unpacked(store._path(chunk).read_bytes())
            if study == store.study.digest:
                return place[0]
    given = f"its {STUDY} is missing or damaged, and no chunk in it is of this study"
    raise refused(str(store.folder), given, "the folder of this very study, or a new one", "primer_sweep_2")


def _packed(study: Study, block: int, chunk: Chunk, columns: Columns) -> bytes:
    """A chunk as a file of numpy's with its seal; texts are JSON in it, for objects would be code."""
    arrays = {name: _texts(values) if values.dtype == object else values for name, values in columns.items()}
    buffer = io.BytesIO()
    about = {"study": np.array(study.digest), "place": np.array([block, *chunk])}
    np.savez(buffer, allow_pickle=False, **about, **arrays)
    return sealed(buffer.getvalue())


def _texts(values: NDArray[Any]) -> NDArray[np.uint8]:
    return np.frombuffer(json.dumps(values.tolist()).encode(), np.uint8)


def _unpacked(data: bytes) -> tuple[Columns, str, list[int]]:
    """Numbers, digest of the study, and cases of a chunk, first and last; raises ValueError for what is not
    sound."""
    texts = {name for name, kind, _ in schema() if kind == "O"}
    try:
        with np.load(io.BytesIO(unsealed(data)), allow_pickle=False) as arrays:
            columns = {name: arrays[name] for name in arrays.files}
        study, place = str(columns.pop("study")), columns.pop("place").tolist()
    except (KeyError, EOFError, zipfile.BadZipFile, AttributeError):
        raise ValueError("no chunk of a sweep") from None
    for name in texts & set(columns):
        columns[name] = np.array(json.loads(columns[name].tobytes()), object)
    return columns, study, place


def _check_schema(columns: Columns, count: int) -> None:
    expected = {name: (np.dtype(kind), (count,)) for name, kind, _ in schema()}
    if {name: (values.dtype, values.shape) for name, values in columns.items()} != expected:
        raise ValueError("a chunk with other numbers")
