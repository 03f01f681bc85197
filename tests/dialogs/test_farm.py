"""A farm's plans go by the settings that held when each cycle was opened (the adviser's choice says otherwise)."""

from dataclasses import replace
from datetime import date

from dialogs.farm import Farm
from service.orchard.settings import DatedSetting, held
from tests.dialogs.conftest import Talk

CHANGED = date(2026, 11, 1)


def farm_after(talk: Talk, *changes: DatedSetting) -> Farm:
    """The farm in the cycle set on 23 Oct for a cut on 4 Jan, after changes on 1 Nov."""
    talk.has_block().has("cut_set", date="2027-01-04").at("2026-11-02T09:00")
    return replace(talk.farm, settings=held(changes, talk.now.date()), dated_settings=changes)


def test_a_running_cycle_keeps_what_held_when_it_was_opened(talk: Talk) -> None:
    farm = farm_after(talk, DatedSetting("defoliate_before_cut_days", 15, CHANGED, running=False))

    assert farm.plan("1").values()["defoliate"] == "2026-12-17"  # 18 days before, as by default


def test_a_change_for_running_cycles_is_followed(talk: Talk) -> None:
    farm = farm_after(talk, DatedSetting("defoliate_before_cut_days", 15, CHANGED, running=True))

    assert farm.plan("1").values()["defoliate"] == "2026-12-20"


def test_of_two_changes_each_goes_its_way(talk: Talk) -> None:
    farm = farm_after(
        talk,
        DatedSetting("defoliate_before_cut_days", 15, CHANGED, running=False),
        DatedSetting("copper_before_cut_days", 5, CHANGED, running=True),
    )

    assert farm.plan("1").values()["defoliate"] == "2026-12-17"
    assert farm.plan("1").values()["copper"] == "2026-12-30"


def test_a_cycle_opened_after_the_change_goes_by_it(talk: Talk) -> None:
    talk.has_block().at("2026-11-02T09:00").has("cut_set", date="2027-01-04")
    change = DatedSetting("defoliate_before_cut_days", 15, CHANGED, running=False)
    farm = replace(talk.farm, settings=held([change], talk.now.date()), dated_settings=(change,))

    assert farm.plan("1").values()["defoliate"] == "2026-12-20"
