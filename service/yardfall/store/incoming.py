"""An upload on its way in: streamed to a temporary file, whole or not at all."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from yardfall.core.errors import TooLargeError


@contextmanager
def incoming(stream: BinaryIO, folder: Path, most_bytes: int, advice: str) -> Iterator[Path]:
    """The upload in a temporary file of `folder`, gone at the end unless renamed.

    Raises TooLargeError over `most_bytes`, with what to do about it.
    """
    with tempfile.NamedTemporaryFile(dir=folder, suffix=".part", delete=False) as part:
        path = Path(part.name)
        try:
            while chunk := stream.read(1 << 20):
                part.write(chunk)
                if part.tell() > most_bytes:
                    raise TooLargeError(f"The file is larger than {most_bytes >> 20} MiB. {advice}")
            part.flush()
            yield path
        finally:
            path.unlink(missing_ok=True)
