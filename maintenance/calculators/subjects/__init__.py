"""All calculators, by key, in the order of the page."""

from . import battery, gas, power, safety, tires, torque, water, weight
from .base import Calculator

CALCULATORS: dict[str, Calculator] = {
    one.key: one
    for module in (torque, tires, weight, gas, battery, water, power, safety)
    for one in module.CALCULATORS
}
