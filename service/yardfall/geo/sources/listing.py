"""What files a source has, by the roots that were named.

A root is a folder, one GeoTIFF, a STAC document (STAC 1.0 and 1.1: an Item, an ItemCollection, a
Catalog or a Collection with its links), or a text of one address a line. A folder on the web has no
standard way to say what is in it, so there a root is one of the last three. Whatever a document
names must lie beside it or below: nothing is read elsewhere.

STAC is read as the JSON that it is: a client library would open whatever a document links to.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import urljoin, urlsplit

from yardfall.core.errors import FileRefusedError
from yardfall.geo.sources.web_file import WebFiles, is_address
from yardfall.sentences import say

TIFFS: Final = (".tif", ".tiff")
MOST_DOCUMENT: Final = 64 << 20
MOST_FILES: Final = 1_000_000
MOST_DOCUMENTS: Final = 100_000
UP: Final = re.compile(r"(^|/)(\.|%2e){2}(/|$)", re.IGNORECASE)
LINKS: Final = ("child", "item", "items")


@dataclass(frozen=True)
class Listed:
    """A file, and the date and licence that a document states of it, "" where it does not."""

    place: str
    date: str = ""
    licence: str = ""


def listed(root: str, web: WebFiles, asset: str | None = None) -> Iterator[Listed]:
    """Every GeoTIFF of a root. `asset` is the name of the asset to take of each STAC item.

    Raises FileRefusedError where a root cannot be listed, WebFault, OSError.
    """
    if root.lower().endswith(TIFFS):
        yield Listed(root if is_address(root) else str(Path(root).resolve()))
    elif root.lower().endswith((".json", ".geojson")):
        yield from _Documents(root, web, asset).read()
    elif root.lower().endswith(".txt"):
        text = _text(root, web).decode("utf-8")
        for line in filter(None, map(str.strip, text.splitlines())):
            yield Listed(below(root, line))
    elif is_address(root):
        raise FileRefusedError(say("sources.no_listing", root=root))
    else:
        yield from _in_folder(Path(root))


def _in_folder(folder: Path) -> Iterator[Listed]:
    whole = folder.resolve()
    if not whole.is_dir():
        raise FileRefusedError(say("sources.no_folder", root=str(folder)))
    for place, folders, files in os.walk(whole):
        folders.sort()
        for name in sorted(files):
            path = Path(place) / name
            if path.suffix.lower() in TIFFS and path.resolve().is_relative_to(whole):
                yield Listed(str(path))


def below(document: str, named: str) -> str:
    """Where a file lies that a document names. Raises FileRefusedError where that is neither beside
    the document nor below."""
    if is_address(document):
        found = urljoin(document, named)
        top = document.rpartition("/")[0] + "/"
        if found.startswith(top) and is_address(found) and not UP.search(urlsplit(found).path):
            return found
    elif "://" not in named:
        folder = Path(document).resolve().parent
        path = (folder / named).resolve()
        if path.is_relative_to(folder):
            return str(path)
    raise FileRefusedError(say("sources.elsewhere", file=named, root=document))


def _text(place: str, web: WebFiles) -> bytes:
    if is_address(place):
        return web.whole(place, MOST_DOCUMENT).content
    path = Path(place)
    if path.stat().st_size > MOST_DOCUMENT:
        raise FileRefusedError(say("sources.long_listing", root=place))
    return path.read_bytes()


class _Documents:
    """STAC documents, from the one named down."""

    def __init__(self, root: str, web: WebFiles, asset: str | None) -> None:
        self._root, self._web, self._asset = root, web, asset

    def read(self) -> Iterator[Listed]:
        """Every file that they name."""
        waiting, seen, licence = [self._root], {self._root}, ""
        while waiting:
            place = waiting.pop()
            document = self._document(place)
            licence = _licence(document) or licence
            if document.get("type") == "FeatureCollection":
                for item in document.get("features") or ():
                    yield from self._item(item, place, licence)
            elif document.get("type") == "Feature":
                yield from self._item(document, place, licence)
            elif document.get("type") not in ("Catalog", "Collection"):
                raise FileRefusedError(say("sources.not_stac", root=place))
            for link in reversed(document.get("links") or ()):
                if isinstance(link, dict) and link.get("rel") in (*LINKS, "next"):
                    further = self._below(place, str(link.get("href")))
                    if further not in seen and len(seen) < MOST_DOCUMENTS:
                        seen.add(further)
                        waiting.append(further)

    def _document(self, place: str) -> dict[str, Any]:
        try:
            found = json.loads(_text(place, self._web))
        except (ValueError, RecursionError) as error:
            raise FileRefusedError(say("sources.not_stac", root=place)) from error
        if not isinstance(found, dict):
            raise FileRefusedError(say("sources.not_stac", root=place))
        return found

    def _item(self, item: Any, place: str, licence: str) -> Iterator[Listed]:
        if not isinstance(item, dict) or not isinstance(item.get("assets"), dict):
            raise FileRefusedError(say("sources.not_stac", root=place))
        tiffs = {key: asset for key, asset in item["assets"].items() if _is_tiff(asset)}
        if self._asset is not None:
            tiffs = {key: asset for key, asset in tiffs.items() if key == self._asset}
        if len(tiffs) > 1:
            names = ", ".join(sorted(tiffs))
            raise FileRefusedError(say("sources.several_assets", root=place, names=names))
        for asset in tiffs.values():
            file = self._below(place, str(asset["href"]))
            yield Listed(file, _date(item.get("properties")), _licence(item) or licence)

    def _below(self, document: str, named: str) -> str:
        """By where the document lies, and still below the one that was named."""
        if is_address(document):
            return below(self._root, urljoin(document, named))
        return below(
            self._root, str(Path(document).parent / named) if "://" not in named else named
        )


def _is_tiff(asset: Any) -> bool:
    if not isinstance(asset, dict) or not isinstance(asset.get("href"), str):
        return False
    kind = str(asset.get("type") or "")
    roles = asset.get("roles")
    if isinstance(roles, list) and roles and "data" not in roles:
        return False
    return kind.startswith("image/tiff") or (
        not kind and urlsplit(asset["href"]).path.lower().endswith(TIFFS)
    )


def _date(properties: Any) -> str:
    """The day that an item's ground was measured; the last where it took several."""
    given = properties if isinstance(properties, dict) else {}
    text = given.get("end_datetime") or given.get("datetime") or given.get("start_datetime")
    try:
        return datetime.fromisoformat(str(text)).date().isoformat()
    except ValueError:
        return ""


def _licence(document: dict[str, Any]) -> str:
    """What a Collection or an Item states."""
    properties = document.get("properties")
    its = document.get("license") or (
        properties.get("license") if isinstance(properties, dict) else None
    )
    return its if isinstance(its, str) else ""
