"""What must hold of any plan, whatever is told in whatever order."""

from datetime import UTC, date, datetime, time, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.orchard.block import Block
from service.orchard.diary import Entry
from service.orchard.plan import Plan, due, plan
from service.orchard.rest import LONGEST
from tests.orchard.diaries import BLACK, DEFAULTS, UPPER_NEEM

SOILS = ["black", "red", "sandy", "loam", "clay", "gravelly", None]
blocks = st.builds(
    lambda soil, plants: Block("1", plants=plants, soil=soil, spacing_m=(4.5, 3.0)),
    st.sampled_from(SOILS),
    st.sampled_from([None, 1, 240]),
)

# Over a year end and the leap day of 2028.
START = date(2027, 11, 1)
days = st.integers(0, 150).map(lambda after: START + timedelta(after))


@st.composite
def tellings(draw: st.DrawFn) -> tuple[str, date, dict[str, object]]:
    day = draw(days)
    kind = draw(
        st.sampled_from(
            "rain rain rain_word watering spray copper leaf_drop shoots cut part clean water postponed ruling cut_set"
            " rest_begun second_clean".split()
        )
    )
    later = (day + timedelta(draw(st.integers(1, 40)))).isoformat()
    jobs = ["rest", "defoliate", "leaf_check", "copper", "cut", "second_spray", "clean", "second_clean", "water"]
    match kind:
        case "rain":
            return "rain", day, {"amount_mm": draw(st.floats(0, 120))}
        case "rain_word":
            return "rain", day, {"rain_word": draw(st.sampled_from(["none", "light", "moderate", "heavy"]))}
        case "watering":
            return "watering", day, draw(st.sampled_from([{}, {"litres_per_plant": 40}]))
        case "spray":
            return "spray", day, {"product": "ethephon"}
        case "copper":
            return "spray", day, {"product": "bordeaux"}
        case "leaf_drop":
            return "leaf_drop", day, {"percent": draw(st.integers(0, 100))}
        case "shoots":
            return "shoots", day, {"shoots": draw(st.sampled_from(["none", "few", "many"]))}
        case "cut":
            return "done", day, {"job": "cut"}
        case "part":
            return "done", day, {"job": "cut", "percent": draw(st.sampled_from([25, 50]))}
        case "clean" | "water" | "second_clean":
            return "done", day, {"job": kind}
        case "postponed":
            return "postponed", day, {"job": draw(st.sampled_from(jobs)), "until": later}
        case "ruling":
            words = ["rest_enough", "rest_not_enough", "cut_fixed", "rain_not_counted", "spray_called_off", "withdrawn"]
            return "ruling", day, {"ruling": draw(st.sampled_from(words)), "date": later}
        case "cut_set":
            return "cut_set", day, {"date": later}
        case _:
            return "rest_begun", day, {}


@st.composite
def diaries(draw: st.DrawFn) -> list[Entry]:
    """Told in the order of its days: a cut set, a rest begun, and then anything."""
    told = sorted(draw(st.lists(tellings(), max_size=12)), key=lambda telling: telling[1])
    told.insert(0, ("cut_set", START, {"date": "2028-01-10"}))
    if draw(st.booleans()):
        told.insert(1, ("rest_begun", START + timedelta(draw(st.integers(0, 40))), {}))
    return [
        Entry(number, kind, "1", day, values, datetime(day.year, day.month, day.day, 6, tzinfo=UTC))
        for number, (kind, day, values) in enumerate(told, 1)
    ]


def made(block: Block, entries: list[Entry], today: date) -> Plan | None:
    return plan(block, entries, UPPER_NEEM, {}, DEFAULTS, today)


@given(block=blocks, entries=diaries(), today=days)
def test_a_plan_can_always_be_made_and_reminded_from(block, entries, today):
    found = made(block, entries, today)
    if found is None:
        return
    assert found.values()["rest_start"] == found.rest_start.isoformat()
    assert found.earliest_cut <= found.cut <= found.latest_cut
    assert found.days_lost >= 0
    assert 0 <= found.counted <= found.rest_days
    midnight = datetime.combine(today, time())
    reminders = due(found, midnight, midnight + timedelta(200), DEFAULTS)
    keys = [(r.job, r.part, r.for_date, r.occasion) for r in reminders]
    assert len(keys) == len(set(keys))
    for reminder in reminders:
        assert not DEFAULTS.is_quiet(reminder.at.time())
        job = found.job(reminder.job, reminder.part)
        assert job is not None
        assert job.is_open
        assert job.open_since is not None or reminder.occasion == "twigs"  # told before the cut can be


@given(block=blocks, entries=diaries(), today=days)
def test_never_a_cut_before_its_rest(block, entries, today):
    """Unless the adviser lets it, or it is done."""
    found = made(block, entries, today)
    if (
        found is None
        or found.ruling in ("rest_enough", "cut_fixed")
        or any(e.values.get("job") == "cut" for e in entries)
    ):
        return
    assert found.cut >= found.rest_start + timedelta(found.rest_days)
    assert found.cut >= found.asked


@given(block=blocks, entries=diaries(), today=days, data=st.data())
def test_more_rain_never_makes_the_cut_earlier(block, entries, today, data):
    found = made(block, entries, today)
    wetter = [
        Entry(e.id, e.kind, e.block, e.day, {"amount_mm": e.values["amount_mm"] + data.draw(st.floats(0, 80))}, e.at)
        if "amount_mm" in e.values
        else e
        for e in entries
    ]
    more = made(block, wetter, today)
    if found is None or more is None:
        assert found is more
        return
    assert more.cut >= found.cut
    assert more.earliest_cut >= found.earliest_cut
    assert more.latest_cut >= found.latest_cut
    assert more.days_lost >= found.days_lost
    assert more.counted <= found.counted


@given(block=blocks, entries=diaries(), today=days)
def test_the_plan_knows_nothing_but_its_entries(block, entries, today):
    """Taking the last one back gives the plan that was made before it, exactly."""
    before = made(block, entries[:-1], today)
    made(block, entries, today)
    assert made(block, entries[:-1], today) == before


@given(block=blocks, entries=diaries(), today=days)
def test_no_ethephon_and_copper_closer_than_the_gap(block, entries, today):
    """No spray is planned within 3 days of another that was told or is planned, while its window lasts."""
    found = made(block, entries, today)
    if found is None:
        return
    copper = found.job("copper")
    coppers = [e.day for e in entries if e.values.get("product") == "bordeaux"]
    ethephons = [e.day for e in entries if e.values.get("product") == "ethephon"]
    if copper is not None and copper.is_open:
        defoliate = found.job("defoliate")
        for day in ethephons + ([defoliate.date] if defoliate is not None and defoliate.is_open else []):
            assert day > copper.last or copper.date - day >= timedelta(3)
        coppers.append(copper.date)
    for job in found.jobs:
        if job.kind in ("defoliate", "second_spray") and job.is_open:
            for day in coppers:
                assert day > job.last or (job.date - day >= timedelta(3)) or (day - job.date >= timedelta(3))


@given(entries=diaries(), today=days, other=st.integers(0, 150))
def test_looking_later_without_news_counts_on_but_moves_nothing(entries, today, other):
    """Without rain to come: the days told are the days that come."""
    last = max(entry.day for entry in entries)
    first, second = (made(BLACK, entries, last + timedelta(after)) for after in sorted((0, other)))
    if first is None or second is None or first.cut - first.rest_start >= timedelta(LONGEST):
        return
    assert second.values() == first.values()
    assert second.counted >= first.counted
