"""A spray mix as it is told: exact figures under the contract's names, whole ones for the text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

from service.orchard.block import Block
from service.orchard.dose import bordeaux, ethephon, ethephon_ppm, spray_volume
from service.orchard.job import JobKind
from service.orchard.settings import Settings


@dataclass(frozen=True)
class Water:
    """Spray water [L] and the pump it goes into [L]; whole: it is for a whole block, pump after pump."""

    volume_l: Decimal
    pump_l: Decimal
    whole: bool

    @property
    def told_l(self) -> Decimal:
        """The water as the text tells it, in whole litres; what it takes is counted for these."""
        return self.volume_l.to_integral_value(ROUND_FLOOR)


def block_water(block: Block, on: date, pump_l: Decimal, settings: Settings, plants: int | None = None) -> Water | None:
    """The spray water of a block, or of a part of its plants; None where plants or age are not known."""
    volume = spray_volume(block, on, settings, plants)
    return None if volume is None else Water(volume, pump_l, whole=True)


def whole_pump(litres: Any, settings: Settings) -> Decimal:
    """The pump told, else the usual one, in whole litres: counted too small, a mix is weaker, never stronger."""
    said = Decimal(str(litres)) if litres is not None else settings.sprayer_l
    return max(Decimal(1), said.to_integral_value(ROUND_FLOOR))


def allowed_ppm(block: Block | None, job: JobKind, settings: Settings) -> Decimal:
    """The strength on file for a spray; where the block is not known, the weakest that any soil may get."""
    return ethephon_ppm(block or Block(""), job, settings)


def ethephon_values(water: Water, ppm: Decimal, grams_per_litre: Decimal, settings: Settings) -> dict[str, Any]:
    """What an ethephon mix takes, for whole ppm (rounded down) and whole grams per litre (up): never too strong.

    Raises dose.Refused for a label strength that makes no sense.
    """
    ppm = max(Decimal(1), ppm.to_integral_value(ROUND_FLOOR))
    grams_per_litre = grams_per_litre.to_integral_value(ROUND_CEILING)
    dose = ethephon(ppm, grams_per_litre, water.volume_l, water.pump_l, settings.label_max_ppm)
    return {
        "ppm": plain(dose.ppm),
        "grams_per_litre": plain(dose.grams_per_litre),
        "ml_per_litre": float(dose.ml_per_litre),
        "product_ml": float(dose.product_ml),
        "volume_l": plain(dose.volume_l),
        "water_l": plain(water.told_l),
        "pump_l": plain(water.pump_l),
        "pumps": dose.pumps,
        "pump_ml": dose.ml_per_pump,
        # full pumps for a block; for water measured out no more than belongs into it
        "all_ml": dose.ml_per_pump * dose.pumps
        if water.whole
        else int(dose.ppm * water.told_l // dose.grams_per_litre),
    }


def bordeaux_values(water: Water) -> dict[str, Any]:
    """What 1 % Bordeaux mixture takes; the grams are told once, for copper sulphate and lime alike."""
    dose = bordeaux(water.volume_l, water.pump_l)
    return {
        "copper_kg": float(dose.copper_kg),
        "lime_kg": float(dose.lime_kg),
        "volume_l": plain(dose.volume_l),
        "water_l": plain(water.told_l),
        "pump_l": plain(water.pump_l),
        "pumps": dose.pumps,
        "pump_g": dose.copper_g_per_pump,
        "all_g": dose.copper_g_per_pump * dose.pumps if water.whole else _grams(dose.copper_kg, water),
    }


def _grams(kilograms: Decimal, water: Water) -> int:
    return int(kilograms * 1000 * water.told_l // water.volume_l)


def plain(value: Decimal) -> int | float:
    """A figure as JSON keeps it."""
    return int(value) if value == value.to_integral_value() else float(value)
