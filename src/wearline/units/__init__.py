"""Quantities as technicians write them, and their exact SI values."""

from wearline.units.conversion import format_quantity, from_unit, to_unit
from wearline.units.parsing import Quantity, parse_quantity, quantity_from_number
from wearline.units.table import Kind, Unit, find_unit, unit_for, unit_of_symbol, units_of

__all__ = [
    "Kind",
    "Quantity",
    "Unit",
    "find_unit",
    "format_quantity",
    "from_unit",
    "parse_quantity",
    "quantity_from_number",
    "to_unit",
    "unit_for",
    "unit_of_symbol",
    "units_of",
]
