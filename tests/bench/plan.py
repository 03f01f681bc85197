"""How long one block's plan takes in a reply: three cases of the soil, a rained-on rest, a year of gauge.

    python -m tests.bench.plan

The aim is a median under half a millisecond.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from statistics import median
from time import perf_counter

from service.orchard.plan import DayWeather, due, plan
from tests.orchard.diaries import BLACK, DEFAULTS, UPPER_NEEM, Diary, ambe_rested, d

TODAY = d("2026-12-20")
ROUNDS = 2000


def median_ms(work: Callable[[], object]) -> float:
    """Median of many runs [ms]."""
    work()
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times) * 1000


def planned(diary: Diary, weather: dict[date, DayWeather]) -> float:
    return median_ms(lambda: plan(BLACK, diary.entries, UPPER_NEEM, weather, DEFAULTS, TODAY))


def main() -> None:
    """Print one line a case."""
    wet = ambe_rested().tell("rain", "2026-12-02", amount_mm=12).tell("rain", "2026-12-11", amount_mm=60)
    gauge = {TODAY - timedelta(days): DayWeather(float(days % 9 == 0) * 8, 14, 30) for days in range(365)}
    long = Diary(wet.entries)
    for days in range(200):
        long.tell("rain", (TODAY - timedelta(days)).isoformat(), amount_mm=0.0)
    for name, diary, weather in (
        ("dry rest", ambe_rested(), {}),
        ("two rains", wet, {}),
        ("two rains, a gauge with temperatures", wet, gauge),
        ("two rains, 200 more entries", long, {}),
    ):
        print(f"{name}: {planned(diary, weather):.3f} ms")
    made = wet.plan(TODAY)
    since = datetime.combine(TODAY, DEFAULTS.quiet[1])
    print(f"what is due in two days: {median_ms(lambda: due(made, since, since + timedelta(2), DEFAULTS)):.3f} ms")


if __name__ == "__main__":
    main()
