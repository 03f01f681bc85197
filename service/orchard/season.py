"""The flowering seasons: which one a cut belongs to, its last good day, and the cut for flowers wanted in a month."""

from collections.abc import Iterable
from datetime import date, timedelta
from functools import cache

from service.orchard.diary import Entry
from service.orchard.figures import table
from service.orchard.settings import SEASONS, Settings


def season_of(cut: date) -> str | None:
    """The season of a cut on this day; None between the seasons."""
    return next((season for season in SEASONS if _is_within(cut, *_cut_window(season))), None)


def _is_within(day: date, first: str, last: str) -> bool:
    here = f"{day:%m-%d}"
    return first <= here <= last if first <= last else here >= first or here <= last


@cache
def _cut_window(season: str) -> tuple[str, str]:
    rows = table("seasons")
    return rows[f"{season}.cut_from"].value, rows[f"{season}.cut_until"].value


def season_end(season: str, cut: date, settings: Settings) -> date:
    """The last good day for a cut of this season in the year that is nearest to `cut`."""
    month, day = settings.last_cut[season]
    return min((date(cut.year + years, month, day) for years in (-1, 0, 1)), key=lambda end: abs(end - cut))


def first_possible_cut(water_off: date, soil: str | None, settings: Settings) -> tuple[date, str | None]:
    """The day on which a rest begun on `water_off` is complete without rain, and the season of that cut.

    Rest length and season hang on each other: a season whose own rest length leads into it comes first (the short
    rest after the rains), else the length for no season, and then the season in which it ends.
    """
    for season in SEASONS:
        cut = water_off + timedelta(settings.rest_days_for(season, soil))
        if season_of(cut) == season:
            return cut, season
    cut = water_off + timedelta(settings.rest_days_for(None, soil))
    return cut, season_of(cut)


def cut_for_flowers_in(year: int, month: int, settings: Settings) -> date:
    """The cut for first flowers in the middle of a month: counted back over sprouting and first watering."""
    least, most = table("seasons")["water_to_flower"].value
    return date(year, month, 15) - timedelta(settings.first_water_after_cut_days + (least + most) // 2)


def cut_for_season(season: str, earliest: date, settings: Settings) -> date:
    """The next good cut day of a season that is not before `earliest`: for flowers in its first flowering month."""
    month = table("seasons")[f"{season}.flower_months"].value[0]
    for year in range(earliest.year - 1, earliest.year + 3):
        cut = max(cut_for_flowers_in(year, month, settings), earliest)
        if season_of(cut) == season and cut <= season_end(season, cut_for_flowers_in(year, month, settings), settings):
            return cut
    raise ValueError(f"{season}: no good cut day on or after {earliest}")


def months_since_last_cut(entries: Iterable[Entry], cut: date) -> int | None:
    """Whole months from a block's last cut on file to this cut; None where none is on file.

    entries: the block's own, with cuts reported (whole) and cuts told of from before it was registered
    """
    months = [
        (entry.day.year, entry.day.month)
        for entry in entries
        if entry.kind == "done" and entry.values["job"] == "cut" and entry.day < cut
    ]
    for entry in entries:
        if entry.kind == "last_cut":
            year, month = entry.values["month"].split("-")
            months.append((int(year), int(month)))
    if not months:
        return None
    year, month = max(months)
    return (cut.year - year) * 12 + cut.month - month
