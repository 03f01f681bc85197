"""What a cooperative has settled: hours, limits, rest, jobs and doses; the defaults stand in `tables/settings.toml`."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, time
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, Self

from service.orchard.figures import Figure, table

SEASONS = ("mrig", "hasta", "ambe")
SOILS = ("black", "red", "sandy", "loam", "clay", "gravelly")
OTHER = "other"  # a season or soil that has no figure of its own


@dataclass(frozen=True, slots=True)
class Settings:
    """Every setting of a cooperative; the tables' rows say unit, source and bounds.

    rest_days: by season, then by soil, "other" for those not named; ask `rest_days_for`
    rest_most_days: by soil, "other" for those not named
    last_cut: month and day of the last good cut, by season
    litres_per_plant: (from age in whole years, litres), youngest first
    """

    morning: time
    evening: time
    quiet: tuple[time, time]
    reminders_a_day: int
    repeat_days: int
    dialogue_minutes: int
    texts_an_hour: int
    texts_a_day: int
    consent: str
    emergency_number: str
    duty_number: str | None
    rest_days: Mapping[str, Mapping[str, int]]
    rest_most_days: Mapping[str, int]
    latest_slip_days: int
    last_cut: Mapping[str, tuple[int, int]]
    defoliate_before_cut_days: int
    leaf_check_after_spray_days: int
    leaf_fall_percent: int
    copper_before_cut_days: int
    copper_ethephon_gap_days: int
    second_spray_after_cut_days: int
    clean_within_days: int
    second_clean_after_days: int
    first_water_after_cut_days: int
    ppm: Decimal
    ppm_black_soil: Decimal
    second_spray_ppm: Decimal
    grams_per_litre: Decimal
    sprayer_l: Decimal
    litres_per_plant: tuple[tuple[int, Decimal], ...]
    label_max_ppm: Decimal | None

    @classmethod
    def of(cls, overrides: Mapping[str, Any]) -> Self:
        """The defaults with a cooperative's own values over them, as they stand in JSON.

        Raises ValueError, naming the key, for a key without a default and for a value out of its bounds.
        """
        for key in overrides:
            if key not in _READERS:
                raise ValueError(f"{key}: no such setting")
        settings = cls(**{key: _read(key, overrides[key]) if key in overrides else _default(key) for key in _READERS})
        for key in ("morning", "evening"):
            if settings.is_quiet(getattr(settings, key)):
                raise ValueError(
                    f"{key}: lies in the quiet hours {settings.quiet[0]:%H:%M} to {settings.quiet[1]:%H:%M}"
                )
        return settings

    def is_quiet(self, hour: time) -> bool:
        """Whether a reminder may not go out at this local hour; the hour at which quiet ends is not quiet."""
        start, end = self.quiet
        return start <= hour < end if start <= end else hour >= start or hour < end

    def rest_days_for(self, season: str | None, soil: str | None) -> int:
        """Counted days without water before a cut in this season on this soil."""
        by_soil = self.rest_days.get(season or OTHER) or self.rest_days[OTHER]
        return by_soil.get(soil or OTHER, by_soil[OTHER])

    def rest_most_days_for(self, soil: str | None) -> int:
        """Days of rest after which the twigs are to be looked at."""
        return self.rest_most_days.get(soil or OTHER, self.rest_most_days[OTHER])

    def litres_per_plant_at(self, age_years: int) -> Decimal:
        """Spray mix per plant [L] at an age in whole years."""
        return [litres for from_years, litres in self.litres_per_plant if from_years <= age_years][-1]


def _whole(value: Any) -> int:
    if isinstance(value, bool) or int(value) != value:
        raise ValueError("is not a whole number")
    return int(value)


def _decimal(value: Any) -> Decimal:
    try:
        return Decimal(str(value))
    except InvalidOperation:
        raise ValueError("is not a number") from None


def _decimal_or_none(value: Any) -> Decimal | None:
    return None if value in (None, "") else _decimal(value)


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value:
        raise ValueError("is not a text")
    return value


def _text_or_none(value: Any) -> str | None:
    return None if value in (None, "") else _text(value)


def _consent(value: Any) -> str:
    if value not in ("reply", "desk"):
        raise ValueError("is neither reply nor desk")
    return str(value)


def _hour(value: Any) -> time:
    return time.fromisoformat(_text(value))


def _hours(value: Any) -> tuple[time, time]:
    start, end = value
    return _hour(start), _hour(end)


def _month_and_day(value: Any) -> tuple[int, int]:
    day = date.fromisoformat(f"2001-{_text(value)}")  # no leap year: it must exist in every year
    return day.month, day.day


def _rest_days(value: Any) -> dict[str, dict[str, int]]:
    if not isinstance(value, Mapping):
        return {OTHER: {OTHER: _whole(value)}}
    defaults: dict[str, dict[str, int]] = dict(_default("rest_days"))
    for season, days in _known(value, (*SEASONS, OTHER)).items():
        general = defaults.get(season, defaults[OTHER])
        defaults[season] = (
            {**general, **{soil: _whole(own) for soil, own in _known(days, (*SOILS, OTHER)).items()}}
            if isinstance(days, Mapping)
            else {OTHER: _whole(days)}
        )
    return defaults


def _rest_most_days(value: Any) -> dict[str, int]:
    if not isinstance(value, Mapping):
        return {OTHER: _whole(value)}
    return {**_default("rest_most_days"), **{k: _whole(v) for k, v in _known(value, (*SOILS, OTHER)).items()}}


def _last_cut(value: Any) -> dict[str, tuple[int, int]]:
    return {**_default("last_cut"), **{k: _month_and_day(v) for k, v in _known(value, SEASONS).items()}}


def _litres_per_plant(value: Any) -> tuple[tuple[int, Decimal], ...]:
    """A number for every age, or litres by the age in years from which they hold: {"0": 0.5, "2": 1.0}."""
    if not isinstance(value, Mapping):
        return ((0, _decimal(value)),)
    steps = tuple(sorted((int(from_years), _decimal(litres)) for from_years, litres in value.items()))
    if not steps or steps[0][0] != 0:
        raise ValueError("must begin at age 0")
    return steps


def _known(value: Mapping[str, Any], names: tuple[str, ...]) -> Mapping[str, Any]:
    for name in value:
        if name not in names:
            raise ValueError(f"{name} is none of {', '.join(names)}")
    return value


_READERS: dict[str, Callable[[Any], Any]] = {
    "morning": _hour,
    "evening": _hour,
    "quiet": _hours,
    "consent": _consent,
    "emergency_number": _text,
    "duty_number": _text_or_none,
    "rest_days": _rest_days,
    "rest_most_days": _rest_most_days,
    "last_cut": _last_cut,
    "litres_per_plant": _litres_per_plant,
    "label_max_ppm": _decimal_or_none,
    "ppm": _decimal,
    "ppm_black_soil": _decimal,
    "second_spray_ppm": _decimal,
    "grams_per_litre": _decimal,
    "sprayer_l": _decimal,
}
_READERS |= {field.name: _whole for field in fields(Settings) if field.name not in _READERS}


def _rows(key: str) -> dict[str, Figure]:
    """The rows of a setting by the rest of their path: one row under "" or one a season, soil or age."""
    return {
        path.removeprefix(key).lstrip("."): figure
        for path, figure in table("settings").items()
        if path == key or path.startswith(f"{key}.")
    }


@cache
def _default(key: str) -> Any:
    rows = {name: figure.value for name, figure in _rows(key).items()}
    match key:
        case "rest_days":
            return {season: {OTHER: days} for season, days in rows.items()}
        case "rest_most_days":
            return rows
        case "last_cut":
            return {season: _month_and_day(day) for season, day in rows.items()}
        case "litres_per_plant":
            return _litres_per_plant({name.split("_")[1]: litres for name, litres in rows.items()})
        case _:
            return _READERS[key](rows[""])


def _read(key: str, value: Any) -> Any:
    try:
        read = _READERS[key](value)
        _check_bounds(key, read)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{key}: {value!r} {error}") from error
    return read


def _check_bounds(key: str, read: Any) -> None:
    bounds = next(iter(_rows(key).values()))
    for number in _numbers(read):
        if bounds.low is not None and number < bounds.low:
            raise ValueError(f"is below {bounds.low}")
        if bounds.high is not None and number > bounds.high:
            raise ValueError(f"is above {bounds.high}")


def _numbers(read: Any) -> list[int | Decimal]:
    match read:
        case int() | Decimal():
            return [read]
        case Mapping():
            return [number for part in read.values() for number in _numbers(part)]
        case tuple():  # (from age, litres): the age is no figure of its own
            return [part[1] for part in read if isinstance(part, tuple) and isinstance(part[1], Decimal)]
        case _:
            return []


@dataclass(frozen=True, slots=True)
class DatedSetting:
    """A setting as it stands from a day on, as in JSON. running: cycles already open follow it."""

    key: str
    value: Any
    since: date
    running: bool


def held(dated: Sequence[DatedSetting], day: date) -> Settings:
    """The settings that hold on a day. dated: every change, in the order in which they were made."""
    return Settings.of({setting.key: setting.value for setting in dated if setting.since <= day})


def held_in_cycle(dated: Sequence[DatedSetting], opened: date, day: date) -> Settings:
    """The settings that hold on a day for a cycle opened earlier: later changes only where running cycles follow."""
    return Settings.of(
        {
            setting.key: setting.value
            for setting in dated
            if setting.since <= opened or (setting.running and setting.since <= day)
        }
    )
