"""Reading the household's list of tools and supplies."""

from dataclasses import dataclass
from functools import cached_property

from maintenance.households.models import Household

from .models import Supply, Tool, ToolKind


@dataclass(frozen=True)
class Belongings:
    """What a household has on its list: a query each for tools and supplies, when they
    are asked for."""

    household: Household

    @cached_property
    def tools(self) -> list[Tool]:
        return list(Tool.objects.for_household(self.household))

    @cached_property
    def supplies(self) -> list[Supply]:
        return list(Supply.objects.for_household(self.household))

    @property
    def torque_wrenches(self) -> list[Tool]:
        return [tool for tool in self.tools if tool.is_torque_wrench]

    @property
    def sockets(self) -> list[Tool]:
        return [tool for tool in self.tools if tool.kind == ToolKind.SOCKET]

    @property
    def other_tools(self) -> list[Tool]:
        return [tool for tool in self.tools if tool.kind == ToolKind.OTHER]

    def __bool__(self) -> bool:
        return bool(self.tools or self.supplies)
