"""What people type and paste, drawn at random: read exactly, or refused by a sentence, never stuck.

The values expected are Python's own fractions; the readers run in node where there is one.
"""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

MODEL = Path(__file__).resolve().parents[3] / "frontend" / "model"
MEASURES, PASTES = 4000, 1500
LETTERS = "0123456789 /.,+-'\"½¼⅛″′−–ftincm%;\t\n\r\\()[]e\u00a0\u2028\ud7ff¾x=<&"
RUN = """
import {{ readMeasure }} from "{model}/units/parse_measure.js";
import {{ pastedRows }} from "{model}/changes/paste.js";
import {{ readFileSync }} from "node:fs";
const {{ measures, pastes }} = JSON.parse(readFileSync(0, "utf8"));
const measured = measures.map(([text, unit]) => {{
  const found = readMeasure(text, unit);
  return found.value ? {{ value: `${{found.value.n}}/${{found.value.d}}` }} : found;
}});
const pasted = pastes.map(([text, kind]) => pastedRows(text, kind));
process.stdout.write(JSON.stringify({{ measured, pasted }}));
"""


def read(measures: list, pastes: list) -> dict:
    """What the page's readers make of texts, all in one node."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("there is no node here to read them with")
    done = subprocess.run(
        [node, "--input-type=module", "-e", RUN.format(model=MODEL.as_uri())],
        input=json.dumps({"measures": measures, "pastes": pastes}),
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def typed(rng: random.Random) -> tuple[str, Fraction]:
    """Inches as somebody might type them, and how many they are."""
    whole, bottom = rng.randrange(200), rng.choice((2, 3, 4, 8, 16, 32, 7))
    part = Fraction(rng.randrange(1, bottom), bottom)
    fraction = f"{part.numerator}{rng.choice(('/', ' / ', '⁄'))}{part.denominator}"
    gap = rng.choice((" ", "-", "  ", "\u00a0"))
    feet = rng.randrange(20)
    sign, value = "", Fraction(whole) + part
    form = rng.randrange(6)
    if form == 0:
        text = f"{whole}{gap}{fraction}"
    elif form == 1:
        text, value = fraction, part
    elif form == 2:
        hundredths = rng.randrange(100)
        value = whole + Fraction(hundredths, 100)
        text = f"{whole}{rng.choice('.,')}{hundredths:02d}"
    elif form == 3:
        text, value = f"{feet}' {whole}{gap}{fraction}\"", 12 * feet + value
    elif form == 4:
        text, value = f"{feet}{rng.choice(('ft', ' feet', '′'))}", Fraction(12 * feet)
    else:
        text, value = f"{whole} {rng.choice(('in', 'inches', 'in.'))}", Fraction(whole)
    if rng.random() < 0.2:
        sign, value = rng.choice("-−–"), -value
    return f"{sign}{text}", value


def test_every_measure_as_typed_is_kept_exactly() -> None:
    rng = random.Random(8)
    given = [typed(rng) for _ in range(MEASURES)]
    found = read([[text, "in"] for text, _ in given], [])["measured"]
    for (text, value), one in zip(given, found, strict=True):
        assert Fraction(one.get("value", "0/1")) == value, (text, one)
        assert "value" in one, (text, one)


def test_any_text_is_a_value_empty_or_a_sentence_and_soon() -> None:
    rng = random.Random(9)
    texts = ["".join(rng.choices(LETTERS, k=rng.randrange(12))) for _ in range(MEASURES)]
    texts += [piece * 20_000 for piece in ("1", "1 ", "1-", "1/", " ", "-", "1'", "½", "1,", "0+")]
    units = [rng.choice(["ft", "in", "m", "mm", "%", ""]) for _ in texts]
    pastes = [
        ["".join(rng.choices(LETTERS + "\t\t\n\nstation", k=rng.randrange(60))), kind]
        for kind in ("level_line", "rod", "elevations", "slopes", "steps", "spots")
        for _ in range(PASTES // 5)
    ]
    found = read([list(pair) for pair in zip(texts, units, strict=True)], pastes)
    for text, one in zip(texts, found["measured"], strict=True):
        assert len({"value", "empty", "error"} & set(one)) == 1, (text, one)
    for (text, _), rows in zip(pastes, found["pasted"], strict=True):
        assert rows is None or all(isinstance(cell, str) for r in rows for cell in r.values()), text


@pytest.mark.parametrize("separator", ["\t", ";", "  "])
def test_a_table_comes_back_as_it_was_pasted(separator: str) -> None:
    rng = random.Random(10)
    tables = [
        [
            [str(rng.randrange(200)), f"{rng.randrange(40)} {rng.randrange(1, 8)}/8"]
            for _ in range(n)
        ]
        for n in range(2, 60)
    ]
    texts = ["\n".join(separator.join(row) for row in table) for table in tables]
    headed = [f"Station{separator}Reading\r\n" + text.replace("\n", "\r\n") for text in texts]
    found = read([], [[text, "level_line"] for text in texts + headed])["pasted"]
    for table, rows in zip(tables + tables, found, strict=True):
        assert [[row["at"], row["down"]] for row in rows] == table
