"""Jobs, rasters and site plans made, read, changed and deleted in any order, by the contract.

schemathesis draws the calls and carries ids and revisions from answers into what is called next.
"""

from __future__ import annotations

import schemathesis
from called import called_from_here
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from sqlalchemy import MetaData

from yardfall.app import Settings, create_app

KEPT = r"/api/v1/(jobs|rasters|site-plans)"


RUN = settings(
    max_examples=12,
    stateful_step_count=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def test_calls_in_a_row_never_fail(tmp_path) -> None:
    app = called_from_here(create_app(Settings(tmp_path)))
    engine, kept = app.extensions["engine"], MetaData()
    kept.reflect(engine, only=lambda name, _: name != "alembic_version")
    seen: list[tuple[str, int]] = []
    contract = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app)

    class Calls(contract.include(path_regex=KEPT).as_state_machine()):
        def setup(self):
            """Each run begins with nothing kept: the same calls get the same answers again."""
            super().setup()
            with engine.begin() as database:
                for table in reversed(kept.sorted_tables):
                    database.execute(table.delete())

        def get_call_kwargs(self, case):
            return {"headers": {"Accept-Encoding": "identity"}}

        def validate_response(self, response, case, **_options):
            seen.append((case.method, response.status_code))
            case.validate_response(response, checks=[not_a_server_error])

    Calls.run(settings=RUN)
    engine.dispose()
    assert len(seen) >= 30
    assert {"GET", "POST", "PUT", "DELETE"} <= {method for method, _ in seen}
    assert {200, 201} & {status for _, status in seen}, "nothing was ever there: tested little"
