"""Ten minutes of whatever the contract can be read to allow, and no answer is a fault of ours.

One run of all phases: the engine shares its time among them, and goes through fuzzing and stateful
again and again until the time is over. A phase alone may have nothing more to try long before.
"""

from __future__ import annotations

import time
from collections import Counter

import pytest
import schemathesis
from called import called_from_here
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import StopReason, events, from_schema

from yardfall.app import Settings, create_app

WHOLE_S = 600
PHASES = ("examples", "coverage", "fuzzing", "stateful")
CONFIG = {
    "max-time": WHOLE_S,
    "generation": {"max-examples": 500},
    "checks": {"enabled": False, "not_a_server_error": {"enabled": True}},
    "phases": {name: {"enabled": True} for name in PHASES},
}


@pytest.mark.long
def test_no_call_fails(tmp_path) -> None:
    app = called_from_here(create_app(Settings(tmp_path)))
    contract = schemathesis.openapi.from_wsgi(
        "/api/v1/openapi.json", app, config=SchemathesisConfig.from_dict(CONFIG)
    )
    seen: dict[str, Counter[int]] = {}
    failed: dict[str, str] = {}
    began_s, reason = time.monotonic(), None
    for event in from_schema(contract).execute():
        assert not isinstance(event, events.FatalError), event
        if isinstance(event, events.EngineFinished):
            reason = event.stop_reason
        if isinstance(event, events.ScenarioFinished):
            answers = seen.setdefault(event.phase.value.lower(), Counter())
            for one, done in event.recorder.interactions.items():
                status = done.response.status_code if done.response else 0
                answers[status] += 1
                if status >= 500:
                    case = event.recorder.cases[one].value
                    failed[f"{case.method} {case.path} {status}"] = case.as_curl_command()[:4000]
    lasted_s = time.monotonic() - began_s
    app.extensions["engine"].dispose()
    print(f"{lasted_s:.0f} s:", *(f"{phase} {dict(by)}" for phase, by in seen.items()), sep="\n")
    assert not failed
    assert reason == StopReason.MAX_TIME
    assert lasted_s >= WHOLE_S
    assert seen.keys() == set(PHASES)
    for phase, answers in seen.items():
        assert {200, 201} & set(answers), f"nothing was ever answered: {phase} tried little"
