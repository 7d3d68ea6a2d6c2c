"""What the calls of export and import take and answer."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.fields import among


class ExportQuery(ma.Schema):
    """Rasters and site plans are large; `files=without` leaves them out."""

    files = ma.fields.String(load_default="with", validate=among("with", "without"))


class ExportFile(ma.Schema):
    """A file that GET /export gave, in a part named `file`."""

    file = ma.fields.Raw(required=True)


class Moved(ma.Schema):
    """How much came in."""

    jobs = ma.fields.Integer(required=True)
    revisions = ma.fields.Integer(required=True)
    rasters = ma.fields.Integer(required=True)
    site_plans = ma.fields.Integer(required=True)
    grade_checks = ma.fields.Integer(required=True)
