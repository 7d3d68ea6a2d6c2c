"""The service's state, as it is told."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import part, words


class Dependencies(ma.Schema):
    """Each thing that the service depends on."""

    database = words()
    tables = words()
    files = words()
    disk = words()
    sums = words()


class Health(ma.Schema):
    """`ok` or `failing`, of the whole and of each part; `broken` says what to do."""

    status = words()
    version = words()
    depends_on = part(Dependencies)
    broken = ma.fields.List(ma.fields.String(), required=True)
    getting_ready = ma.fields.Boolean(
        required=True,
        metadata={
            "description": "Whether the sums are being made ready, once after a version was "
            "installed: until then a sum may be answered with 503 and Retry-After."
        },
    )
