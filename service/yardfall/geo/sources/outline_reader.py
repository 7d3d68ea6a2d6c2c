"""Reads the areas of one vector file, in a process of its own that knows three formats alone.

    python -m yardfall.geo.sources.outline_reader FILE LAYER FIELD

GeoParquet is read apart from GDAL, by pyarrow where that is installed.
GDAL opens a file by what its first bytes look like, and a few lines of text in the right place make
it another format's, which may name other files. So this runs where all drivers but three were left
out before the library was loaded. Written to standard output is a line of JSON for the file, then
one for each area: its id and its shape as well-known binary in hexadecimal, in the file's system.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from yardfall.core.errors import FileRefusedError, InputError, TooLargeError
from yardfall.sentences import say

DRIVERS: Final = ("ESRI Shapefile", "FlatGeobuf", "GPKG")
MOST_MEMORY_BYTES: Final = 6 << 30
MOST_S: Final = 1800.0
MOST_OUTLINES: Final = 2_000_000
PARQUET: Final = ".parquet"


def ask(path: Path, layer: str | None, field: str, folder: Path) -> Path:
    """The file's areas, as another process reads them, in a file in `folder`.

    Raises FileRefusedError, InputError, TooLargeError.
    """
    import pyogrio

    others = ",".join(name for name in pyogrio.list_drivers() if name not in DRIVERS)
    environment = os.environ | {
        "OGR_SKIP": others,
        "CPL_CURL_ENABLED": "NO",
        "GDAL_PAM_ENABLED": "NO",
        "OGR_SQLITE_LOAD_EXTENSIONS": "",
    }
    command = [sys.executable, "-m", __name__, str(path), layer or "", field]
    with tempfile.NamedTemporaryFile("wb", dir=folder, delete=False) as out:
        try:
            ended = subprocess.run(  # noqa: S603 - ourselves
                command,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.PIPE,
                timeout=MOST_S,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise FileRefusedError(
                say("sources.broken_outlines", why="it takes too long")
            ) from error
    if ended.returncode:
        why = ended.stderr.decode("utf-8", "replace").strip().rpartition("\n")[2]
        raise FileRefusedError(say("sources.broken_outlines", why=why[:300]))
    with Path(out.name).open(encoding="utf-8") as lines:
        head = json.loads(lines.readline())
    if "refused" in head:
        code, parts = head["refused"], head["parts"]
        kind = {"many_outlines": TooLargeError}.get(code, FileRefusedError)
        if code == "no_field":
            raise InputError.at("/id", say("sources.no_field", **parts))
        raise kind(say(f"sources.{code}", **parts))
    return Path(out.name)


def _main(file: str, layer: str, field: str) -> None:
    _bound()
    if file.endswith(PARQUET):
        _write_parquet(file, field)
        return
    import pyogrio

    known = set(pyogrio.list_drivers())
    assert known <= set(DRIVERS), f"drivers that should be left out: {known - set(DRIVERS)}"
    layers = [str(name) for name, kind in pyogrio.list_layers(file) if kind is not None]
    if not layer and len(layers) > 1:
        _refuse("which_layer", names=", ".join(layers))
        return
    info = pyogrio.read_info(file, layer=layer or None)
    fields = [str(name) for name in info["fields"]]
    if field not in fields:
        _refuse("no_field", field=field, fields=", ".join(fields))
    elif not info["crs"]:
        _refuse("no_crs")
    elif info["features"] > MOST_OUTLINES:
        _refuse("many_outlines", count=f"{info['features']:,}", most=f"{MOST_OUTLINES:,}")
    else:
        _write(file, layer, field)


def _write(file: str, layer: str, field: str) -> None:
    import pyproj
    from pyogrio.raw import read

    meta, _, shapes, (ids,) = read(file, layer=layer or None, columns=[field], force_2d=True)
    print(json.dumps({"crs": pyproj.CRS.from_user_input(meta["crs"]).to_wkt()}))  # noqa: T201
    for key, shape in zip(ids, shapes, strict=True):
        if shape is not None:
            print(json.dumps([_plain(key), shape.hex()]))  # noqa: T201


def _write_parquet(file: str, field: str) -> None:
    """GeoParquet, which GDAL has no part in: read as bytes, so that no name in it is looked up."""
    import geopandas
    import pyarrow.parquet

    with Path(file).open("rb") as content:
        about = pyarrow.parquet.ParquetFile(content)
        fields, count = about.schema_arrow.names, about.metadata.num_rows
        geo = json.loads((about.schema_arrow.metadata or {}).get(b"geo", b"{}"))
        column = geo.get("primary_column")
        if column not in fields:
            _refuse("not_outlines")
        elif field not in fields or field == column:
            told = ", ".join(name for name in fields if name != column)
            _refuse("no_field", field=field, fields=told)
        elif count > MOST_OUTLINES:
            _refuse("many_outlines", count=f"{count:,}", most=f"{MOST_OUTLINES:,}")
        else:
            content.seek(0)
            found = geopandas.read_parquet(content, columns=[field, column], use_threads=False)
            if found.crs is None:
                _refuse("no_crs")
                return
            print(json.dumps({"crs": found.crs.to_wkt()}))  # noqa: T201
            shapes = found.geometry.to_wkb(hex=True, output_dimension=2)
            for key, shape in zip(found[field], shapes, strict=True):
                if shape is not None:
                    print(json.dumps([_plain(key), shape]))  # noqa: T201


def _plain(key: Any) -> str:
    """An id as text; a whole number without a decimal point, however the file keeps it."""
    return str(int(key)) if isinstance(key, float) and key.is_integer() else str(key)


def _refuse(code: str, **parts: str) -> None:
    print(json.dumps({"refused": code, "parts": parts}))  # noqa: T201


def _bound() -> None:
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    _main(*sys.argv[1:])
