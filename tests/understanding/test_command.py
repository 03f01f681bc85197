"""`cutday understand`: lines in, lines out."""

import io
import json

from service.commands.understand import run


def test_each_line_is_answered_in_order() -> None:
    """id, task, slots and clarify; native script stays readable."""
    lines = [
        {"id": "a", "lang": "hi", "today": "2025-11-20", "asking": None, "text": "पहाड़ी वाले खेत में १२ मिमी"},
        {"id": "b", "lang": "en", "today": "2025-11-20", "asking": "amount_mm", "text": "7"},
    ]
    out, err = io.StringIO(), io.StringIO()

    code = run([json.dumps(line, ensure_ascii=False) + "\n" for line in lines], out, err, why=False)

    assert code == 0
    assert "पहाड़ी" in out.getvalue()
    assert [json.loads(line) for line in out.getvalue().splitlines()] == [
        {"id": "a", "task": "log_rain", "slots": {"block": "पहाड़ी", "amount_mm": 12}, "clarify": False},
        {"id": "b", "task": "answer", "slots": {"amount_mm": 7}, "clarify": False},
    ]


def test_why_explains() -> None:
    """--why adds what each word was taken for."""
    out = io.StringIO()

    run(['{"id":1,"lang":"en","today":"2025-11-20","asking":null,"text":"rain 12"}\n'], out, io.StringIO(), why=True)

    assert "rain: rain" in json.loads(out.getvalue())["why"]


def test_a_line_that_is_no_text_ends_it() -> None:
    """One error line with its number, code 2; what came before is printed."""
    good = '{"id":1,"lang":"en","today":"2025-11-20","asking":null,"text":"rain 12"}\n'
    for bad in ("[]\n", "{\n", '{"id":1}\n', good.replace('"en"', '"xx"'), good.replace("2025-11-20", "20 Nov")):
        out, err = io.StringIO(), io.StringIO()

        assert run([good, bad], out, err, why=False) == 2
        assert len(out.getvalue().splitlines()) == 1
        assert err.getvalue().startswith("line 2:")
        assert len(err.getvalue().splitlines()) == 1
