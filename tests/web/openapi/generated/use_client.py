"""Plans a drain with the client that was generated from the contract: python use_client.py ADDRESS
RASTER. Checked by mypy --strict together with that client."""

from __future__ import annotations

import io
import sys
from datetime import datetime
from http import HTTPStatus
from pathlib import Path

from yardfall_client import Client
from yardfall_client.api.checking import check_grade
from yardfall_client.api.job_papers import get_job_dig_sheet_pdf
from yardfall_client.api.jobs import create_job, get_job, list_jobs, save_job
from yardfall_client.api.planning import plan_drain
from yardfall_client.api.rasters import upload_raster
from yardfall_client.api.record import keep_grade_check
from yardfall_client.models import (
    CataloguePipe,
    DrawnRoute,
    DugByDepth,
    FallVerdict,
    GradeCheckAnswer,
    GradeCheckBody,
    GradeVerdict,
    Job,
    JobBody,
    JobPage,
    KeptCheck,
    KeptCheckBody,
    LineString,
    OutletKind,
    PipeCode,
    PlanBody,
    PlanOutletBody,
    ProblemBody,
    Raster,
    RasterFile,
    ReadRasterBody,
    StartByCover,
    TreeAnswer,
    Units,
    VerticalUnit,
)
from yardfall_client.types import File


def main(address: str, path: Path) -> None:
    """The whole way: ground in, a plan, kept, a save in conflict, the trench checked, the sheet."""
    client = Client(base_url=address)

    file = File(payload=io.BytesIO(path.read_bytes()), file_name=path.name, mime_type="image/tiff")
    raster = upload_raster.sync(client=client, body=RasterFile(file=file), idempotency_key="one")
    assert isinstance(raster, Raster), raster
    assert isinstance(raster.uploaded_at, datetime)

    request = PlanBody(
        units=Units.SI,
        route=DrawnRoute(
            line=LineString(
                type_="LineString", coordinates=[[512000.0, 4705035.0], [512020.0, 4705015.0]]
            ),
            crs="EPSG:26915",
        ),
        ground=ReadRasterBody(kind="raster", raster=raster.id, vertical_unit=VerticalUnit.M),
        pipe=CataloguePipe(code=PipeCode.CORRUGATED_SINGLE_4),
        start=StartByCover(cover=200.0),
        outlet=PlanOutletBody(kind=OutletKind.DAYLIGHT),
    )
    plan = plan_drain.sync(client=client, body=request)
    assert isinstance(plan, TreeAnswer), plan
    assert plan.answer.verdict in (FallVerdict.YES, FallVerdict.NO, FallVerdict.TOO_CLOSE)
    assert plan.stations[-1].at == plan.length

    wanted = JobBody(name="Generated", request=request)
    kept = create_job.sync_detailed(client=client, body=wanted, idempotency_key="two")
    assert kept.status_code == HTTPStatus.CREATED
    assert isinstance(kept.parsed, Job)
    job = kept.parsed
    assert kept.headers["Location"].endswith(job.id)
    assert isinstance(job.request, PlanBody)
    assert isinstance(job.answer, TreeAnswer)
    assert job.answer.answer.sentence == plan.answer.sentence
    again = create_job.sync(client=client, body=wanted, idempotency_key="two")
    assert again == job

    saved = save_job.sync(id=job.id, client=client, body=wanted, if_match=job.etag)
    assert isinstance(saved, Job)
    assert saved.revision == 2
    conflict = save_job.sync_detailed(id=job.id, client=client, body=wanted, if_match=job.etag)
    assert conflict.status_code == HTTPStatus.PRECONDITION_FAILED
    assert isinstance(conflict.parsed, ProblemBody)
    assert conflict.parsed.type_.endswith("/saved-meanwhile")
    read = get_job.sync_detailed(id=job.id, client=client, if_none_match=saved.etag)
    assert read.status_code == HTTPStatus.NOT_MODIFIED
    listed = list_jobs.sync(client=client, page_size=1)
    assert isinstance(listed, JobPage)
    assert listed.jobs[0].saved_at.tzinfo is not None

    reading = DugByDepth(at=0.0, depth=300.0)
    check = check_grade.sync(client=client, body=GradeCheckBody(as_dug=[reading], plan=request))
    assert isinstance(check, GradeCheckAnswer), check
    assert check.verdict is not GradeVerdict.PASS
    record = keep_grade_check.sync(id=job.id, client=client, body=KeptCheckBody(as_dug=[reading]))
    assert isinstance(record, KeptCheck), record
    assert record.answer.sentence == check.sentence

    sheet = get_job_dig_sheet_pdf.sync_detailed(id=job.id, client=client)
    assert sheet.status_code == HTTPStatus.OK
    assert sheet.content.startswith(b"%PDF-")

    refused = plan_drain.sync(
        client=client,
        body=PlanBody.from_dict(request.to_dict() | {"start": {"cover": 2_000_000.0}}),
    )
    assert isinstance(refused, ProblemBody)
    assert [(e.pointer, e.code) for e in refused.errors] == [("/start/cover", "out_of_range")]


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
