import os
import pytest


@pytest.mark.skipif("SHOTS" not in os.environ, reason="x")
def test_shots(enter):
    lang = os.environ["SHOTS"]
    for width in (1280, 360):
        p = enter("shot" + lang.replace("_", "").lower(), language=lang, width=width)
        for name, path in {
            "today": "/desk/today",
            "growers": "/desk/growers",
            "block": "/desk/growers/2/blocks/1",
            "grower": "/desk/growers/2",
            "account": "/desk/account",
            "matter": "/desk/matters/1",
        }.items():
            p.open(path)
            p.page.screenshot(path=f"/tmp/q_desk_shots/{lang}-{width}-{name}.png", full_page=True)
            print(lang, width, name, "wide:", p.too_wide(), p.serious())
