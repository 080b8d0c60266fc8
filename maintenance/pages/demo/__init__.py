"""The demo: an invented household with some years behind it, told anew for any day."""

from .providing import Login, provide_demo, remove_demo
from .story import Story, StoryError, read_story
from .telling import tell

__all__ = [
    "Login",
    "Story",
    "StoryError",
    "provide_demo",
    "read_story",
    "remove_demo",
    "tell",
]
