"""Reading the household's list of tools and supplies."""

from dataclasses import dataclass

from maintenance.households.models import Household

from .models import Supply, Tool, ToolKind


@dataclass(frozen=True, slots=True)
class Belongings:
    """All that a household has on its list, in two queries."""

    tools: list[Tool]
    supplies: list[Supply]

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


def belongings_of(household: Household) -> Belongings:
    return Belongings(
        tools=list(Tool.objects.for_household(household)),
        supplies=list(Supply.objects.for_household(household)),
    )
