"""Handing a connection from the secure door to the web server: the name of the socket
between them, and how long a note on it may be. Standard library only."""

from pathlib import Path

LONGEST_NOTE = 200  # bytes: the visitor's address and port


def handing_socket(broker_socket: Path) -> Path:
    """Beside the broker's, whose path is known to be short enough."""
    return broker_socket.with_name("secure-door.sock")
