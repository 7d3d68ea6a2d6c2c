"""Ten minutes of whatever the contract can be read to allow, and no answer is a fault of ours."""

from __future__ import annotations

from collections import Counter

import pytest
import schemathesis
from called import called_from_here
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema

from yardfall.app import Settings, create_app

PHASE_S = {"examples": 60, "coverage": 200, "fuzzing": 240, "stateful": 100}


@pytest.mark.long
@pytest.mark.parametrize("phase", PHASE_S)
def test_no_call_fails(phase: str, tmp_path) -> None:
    app = called_from_here(create_app(Settings(tmp_path)))
    config = {
        "max-time": PHASE_S[phase],
        "generation": {"max-examples": 500},
        "checks": {"enabled": False, "not_a_server_error": {"enabled": True}},
        "phases": {name: {"enabled": name == phase} for name in PHASE_S},
    }
    contract = schemathesis.openapi.from_wsgi(
        "/api/v1/openapi.json", app, config=SchemathesisConfig.from_dict(config)
    )
    seen: Counter[int] = Counter()
    failed: dict[str, str] = {}
    for event in from_schema(contract).execute():
        assert not isinstance(event, events.FatalError), event
        if isinstance(event, events.ScenarioFinished):
            for one, done in event.recorder.interactions.items():
                status = done.response.status_code if done.response else 0
                seen[status] += 1
                if status >= 500:
                    case = event.recorder.cases[one].value
                    failed[f"{case.method} {case.path} {status}"] = case.as_curl_command()[:4000]
    app.extensions["engine"].dispose()
    assert not failed
    assert {200, 201} & set(seen), "nothing was ever answered: tried little"
