"""Queries on a cooperative: itself, its lines, places, settings and weather posts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, bindparam, select, update

from service.orchard.block import Normal, Place
from service.orchard.plan import DayWeather, Weather
from service.orchard.settings import DatedSetting, Settings, held
from service.store.schema import cooperative_settings, cooperatives, lines, registered_texts, villages, weather
from service.store.session import upsert


@dataclass(frozen=True)
class Registered:
    """What a text is registered under, and the catalogue's text when that was entered. No ids: it is not, any more."""

    text: str
    sender_id: str | None
    template_id: str | None


@dataclass(frozen=True)
class Cooperative:
    """Everything about a cooperative that the texts of its growers need.

    places: village -> place; "" is its own position. posts: village -> its own weather post by day.
    registered: (language, key) -> what that text is registered under
    """

    id: int
    name: str
    timezone: str
    language: str
    version: int
    created_at: datetime
    places: Mapping[str, Place]
    posts: Mapping[str, Weather]
    dated_settings: tuple[DatedSetting, ...]
    registered: Mapping[tuple[str, str], Registered]

    @cached_property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.timezone)

    @cached_property
    def gauges(self) -> Mapping[str, Weather]:
        """What is measured for each village: its own post, and the cooperative's ("") on the days that it lacks."""
        return gauges(self.posts)

    @cached_property
    def _spellings(self) -> Mapping[str, str]:
        return {_folded(name): name for name in self.places if name}

    @cached_property
    def _settings_by_day(self) -> dict[date, Settings]:
        return {}

    def settings_on(self, day: date) -> Settings:
        """The settings that hold on a day."""
        settings = self._settings_by_day.get(day)
        if settings is None:
            settings = self._settings_by_day[day] = held(self.dated_settings, day)
        return settings

    def village(self, name: str) -> str:
        """A village's name as the cooperative writes it; as it was typed where it is not known."""
        return self._spellings.get(_folded(name), name)


def gauges(posts: Mapping[str, Weather]) -> Mapping[str, Weather]:
    """The days of each post joined with the cooperative's own."""
    everywhere = posts.get("", {})
    return {"": everywhere} | {village: {**everywhere, **days} for village, days in posts.items() if village}


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def find(connection: Connection, cooperative_id: int) -> Cooperative:
    """A cooperative with all that belongs to it. LookupError where there is none."""
    row = connection.execute(select(cooperatives).where(cooperatives.c.id == cooperative_id)).one_or_none()
    if row is None:
        raise LookupError(f"no cooperative {cooperative_id}")
    normals = _normals(row.normals)
    own = Place(row.name, row.latitude, row.longitude, row.elevation_m, normals)
    places = {"": own}
    for village in connection.execute(select(villages).where(villages.c.cooperative_id == row.id)):
        elevation = own.elevation_m if village.elevation_m is None else village.elevation_m
        places[village.name] = Place(
            village.name, village.latitude, village.longitude, elevation,
            normals if village.normals is None else _normals(village.normals),
        )  # fmt: skip
    posts: dict[str, dict[date, DayWeather]] = {}
    for post in connection.execute(select(weather).where(weather.c.cooperative_id == row.id).order_by(weather.c.day)):
        posts.setdefault(post.village, {})[post.day] = DayWeather(post.rain_mm, post.tmin_c, post.tmax_c)
    dated = connection.execute(
        select(cooperative_settings)
        .where(cooperative_settings.c.cooperative_id == row.id)
        .order_by(cooperative_settings.c.since, cooperative_settings.c.id)
    )
    settings = tuple(DatedSetting(one.key, one.value, one.since, one.running) for one in dated)
    rows = connection.execute(
        select(registered_texts).where(registered_texts.c.cooperative_id == row.id).order_by(registered_texts.c.id)
    )
    registered = {(one.language, one.key): Registered(one.text, one.sender_id, one.template_id) for one in rows}
    return Cooperative(
        row.id, row.name, row.timezone, row.language, row.version, row.at, places, posts, settings, registered
    )


def _normals(rows: Sequence[Mapping[str, float]]) -> tuple[Normal, ...]:
    return tuple(Normal(row["tmin_c"], row["tmax_c"], row["rain_mm"], row["rain_days"]) for row in rows)


_BY_LINE = (
    select(lines.c.id, cooperatives.c.id, cooperatives.c.version)
    .join(cooperatives, cooperatives.c.id == lines.c.cooperative_id)
    .where(lines.c.name == bindparam("line"))
)
_VERSIONS = select(cooperatives.c.id, cooperatives.c.version).order_by(cooperatives.c.id)
_VERSION = select(cooperatives.c.version).where(cooperatives.c.id == bindparam("cooperative"))


def by_line(connection: Connection, line: str) -> tuple[int, int, int] | None:
    """(line id, cooperative id, version) of a receiving line; None where no cooperative has it."""
    row = connection.execute(_BY_LINE, {"line": line}).one_or_none()
    return None if row is None else (row[0], row[1], row[2])


def versions(connection: Connection) -> dict[int, int]:
    """The version of every cooperative, by id."""
    return {row.id: row.version for row in connection.execute(_VERSIONS)}


def version(connection: Connection, cooperative_id: int) -> int:
    found: int = connection.execute(_VERSION, {"cooperative": cooperative_id}).scalar_one()
    return found


def by_name(connection: Connection, name: str) -> int | None:
    """A cooperative's id by its name."""
    return connection.execute(select(cooperatives.c.id).where(cooperatives.c.name == name)).scalar_one_or_none()


def all_lines(connection: Connection) -> dict[int, str]:
    """The name of every receiving line, by id."""
    return {row.id: row.name for row in connection.execute(select(lines.c.id, lines.c.name))}


def line_of(connection: Connection, cooperative_id: int) -> str:
    """The first receiving line of a cooperative."""
    name: str = connection.execute(
        select(lines.c.name).where(lines.c.cooperative_id == cooperative_id).order_by(lines.c.id).limit(1)
    ).scalar_one()
    return name


def zone(description: Mapping[str, Any]) -> ZoneInfo:
    """The time zone in a description; KeyError, TypeError or ValueError where there is none."""
    name = description["timezone"]
    try:
        return ZoneInfo(name)
    except (OSError, LookupError):  # no such file, or no such zone
        raise ValueError(f"timezone: no such zone: {name!r}") from None


def check(description: Mapping[str, Any]) -> None:
    """Raises KeyError, TypeError or ValueError where a description is none of a cooperative."""
    zone(description)
    _twelve(description["normals"])
    for name in ("latitude", "longitude", "elevation_m"):
        float(description[name])
    for name in ("name", "language"):
        if not isinstance(description[name], str) or not description[name]:
            raise ValueError(f"{name}: a text is wanted")
    for village in description.get("villages") or ():
        if not isinstance(village["name"], str):
            raise ValueError("villages: name: a text is wanted")
        float(village["latitude"]), float(village["longitude"])
        if village.get("normals") is not None:
            _twelve(village["normals"])
    settings = description.get("settings")
    if settings is not None and not isinstance(settings, Mapping):
        raise ValueError("settings: keys and values are wanted")
    Settings.of(settings or {})


def create(connection: Connection, description: Mapping[str, Any], line: str, at: datetime, today: date) -> int:
    """Register a cooperative as CONTRACT's cooperative line describes it, and the line its texts come in on.

    Raises KeyError, TypeError or ValueError where the description is not one.
    """
    check(description)
    cooperative_id: int = connection.execute(
        cooperatives.insert()
        .returning(cooperatives.c.id)
        .values(
            name=str(description["name"]),
            timezone=zone(description).key,
            latitude=float(description["latitude"]),
            longitude=float(description["longitude"]),
            elevation_m=float(description["elevation_m"]),
            language=str(description["language"]),
            normals=_twelve(description["normals"]),
            version=1,
            at=at,
        )
    ).scalar_one()
    connection.execute(lines.insert().values(cooperative_id=cooperative_id, name=line))
    for village in description.get("villages") or ():
        connection.execute(
            villages.insert().values(
                cooperative_id=cooperative_id,
                name=str(village["name"]),
                latitude=float(village["latitude"]),
                longitude=float(village["longitude"]),
                elevation_m=None if village.get("elevation_m") is None else float(village["elevation_m"]),
                normals=None if village.get("normals") is None else _twelve(village["normals"]),
            )
        )
    for key, value in (description.get("settings") or {}).items():
        set_from(connection, cooperative_id, key, value, today, by="registration", at=at, running=True)
    return cooperative_id


def _twelve(normals: Sequence[Mapping[str, Any]]) -> list[dict[str, float]]:
    rows = [{key: float(row[key]) for key in ("tmin_c", "tmax_c", "rain_mm", "rain_days")} for row in normals]
    if len(rows) != 12:
        raise ValueError(f"normals: 12 months wanted, got {len(rows)}")
    return rows


def set_from(
    connection: Connection, cooperative_id: int, key: str, value: Any, since: date, *, by: str, at: datetime,
    running: bool,
) -> None:  # fmt: skip
    """Let a setting hold from a day on."""
    connection.execute(
        cooperative_settings.insert().values(
            cooperative_id=cooperative_id, key=key, value=value, since=since, running=running, by=by, at=at
        )
    )
    _changed(connection, cooperative_id)


def register_texts(
    connection: Connection, cooperative_id: int, language: str, texts: Mapping[str, Registered], *, by: str,
    at: datetime,
) -> None:  # fmt: skip
    """Keep what texts of a language are registered under from now on. texts: by key"""
    for key, one in texts.items():
        connection.execute(
            registered_texts.insert().values(
                cooperative_id=cooperative_id, language=language, key=key, text=one.text, sender_id=one.sender_id,
                template_id=one.template_id, by=by, at=at,
            )
        )  # fmt: skip
    _changed(connection, cooperative_id)


def post_weather(
    connection: Connection, cooperative_id: int, village: str, day: date, post: DayWeather, at: datetime
) -> DayWeather | None:
    """Keep what a weather post measured on a day, in place of what was on file; returns that, or None.

    A figure that is None leaves what was on file.
    """
    key = (weather.c.cooperative_id == cooperative_id, weather.c.village == village, weather.c.day == day)
    row = connection.execute(select(weather.c.rain_mm, weather.c.tmin_c, weather.c.tmax_c).where(*key)).one_or_none()
    was = None if row is None else DayWeather(row.rain_mm, row.tmin_c, row.tmax_c)
    figures = {
        name: value
        for name, value in (("rain_mm", post.rain_mm), ("tmin_c", post.tmin_c), ("tmax_c", post.tmax_c))
        if value is not None
    }
    insert = upsert(connection, weather).values(
        cooperative_id=cooperative_id, village=village, day=day, at=at, **figures
    )
    connection.execute(
        insert.on_conflict_do_update(index_elements=["cooperative_id", "village", "day"], set_={**figures, "at": at})
    )
    _changed(connection, cooperative_id)
    return was


def _changed(connection: Connection, cooperative_id: int) -> None:
    connection.execute(
        update(cooperatives).where(cooperatives.c.id == cooperative_id).values(version=cooperatives.c.version + 1)
    )
