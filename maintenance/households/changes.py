"""The one signal of the house: what a rig's standings rest on has changed.

Services of households, vehicles and components end with `inputs_changed.send`; plans is
the only receiver, and renews the standings in the same transaction.
"""

from django.dispatch import Signal

# Arguments: `rig_ids` (a list, or None for all of `household`), `household`.
inputs_changed = Signal()
