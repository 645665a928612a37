"""Pictures of a film as the bytes of a GIF or MP4 file."""

import io
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import NDArray
from PIL import Image

Picture = NDArray[np.uint8]

PACE = {".gif": 10.0, ".mp4": 25.0}
"""Pictures a second by the ending of the file's name."""

COLOURS = 32
"""Of a GIF, the same in all of its pictures."""


def ffmpeg() -> str | None:
    """The program that makes MP4 files, if the machine has it."""
    return shutil.which("ffmpeg")


def gif(pictures: Sequence[Picture], shown: NDArray[np.float64], colours: Sequence[str]) -> bytes:
    """A GIF without end; ``shown``: how long each picture stays [s], kept to hundredths of a second over the
    whole film; ``colours``: those that must come out exactly, fewer than 32."""
    palette = _palette(pictures[:: max(1, len(pictures) // 8)], colours)
    frames = [
        Image.fromarray(picture).quantize(palette=palette, dither=Image.Dither.NONE) for picture in pictures
    ]
    ends = np.round(np.cumsum(shown) * 100.0).astype(int)
    lasts = np.maximum(np.diff(ends, prepend=0), 2)
    file = io.BytesIO()
    frames[0].save(
        file, format="GIF", save_all=True, append_images=frames[1:], loop=0, optimize=False,
        duration=[10 * int(last) for last in lasts],
    )  # fmt: skip
    return file.getvalue()


def _palette(some: Sequence[Picture], colours: Sequence[str]) -> Image.Image:
    """These colours, and as many as are left of those between them, at edges, that the pictures have most."""
    exact = [round(255 * part) for colour in colours for part in to_rgb(colour)]
    between = Image.fromarray(np.concatenate(some)).quantize(COLOURS - len(colours)).getpalette() or []
    palette = Image.new("P", (1, 1))
    palette.putpalette(exact + between[: 3 * (COLOURS - len(colours))])
    return palette


def mp4(pictures: Iterable[Picture], shown: NDArray[np.float64]) -> bytes:
    """An MP4 film by ffmpeg, which must be there; a picture that stays is repeated. Raises OSError with what
    ffmpeg says where it fails."""
    program = ffmpeg()
    if program is None:
        raise FileNotFoundError(0, "ffmpeg is not on this machine")
    ends = np.round(np.cumsum(shown) * PACE[".mp4"]).astype(int)
    counts = np.maximum(np.diff(ends, prepend=0), 1)
    frames = (picture for picture, count in zip(pictures, counts, strict=True) for _ in range(count))
    first = next(frames)
    height, width, _ = first.shape
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "film.mp4"
        size, pace = f"{width}x{height}", f"{PACE['.mp4']:g}"
        pictures_in = ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", size, "-framerate", pace, "-i", "pipe:"]
        film_out = ["-pix_fmt", "yuv420p", "-movflags", "+faststart", str(path)]
        command = [program, "-loglevel", "error", *pictures_in, *film_out]
        _feed(command, first, frames)
        return path.read_bytes()


def _feed(command: Sequence[str], first: Picture, others: Iterator[Picture]) -> None:
    """Run a program on pictures one after another; raises OSError with its words where it fails."""
    with tempfile.TemporaryFile() as words:
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=words, stderr=words) as process:
            assert process.stdin is not None
            try:
                process.stdin.write(first.tobytes())
                for picture in others:
                    process.stdin.write(picture.tobytes())
                process.stdin.close()
            except BrokenPipeError:  # it ended early: its words say why
                pass
        if process.returncode:
            words.seek(0)
            said = words.read().decode(errors="replace").strip().splitlines()
            raise OSError(0, f"ffmpeg failed: {said[-1] if said else process.returncode}")


def told(
    pictures: Iterable[Picture], whole: int, progress: Callable[[int, int], None] | None
) -> Iterator[Picture]:
    """The same pictures; ``progress`` is called with (pictures drawn, pictures in all)."""
    for number, picture in enumerate(pictures, 1):
        yield picture
        if progress is not None:
            progress(number, whole)
