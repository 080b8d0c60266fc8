"""What a request may bring, for the web server and for what stands behind it."""

import ipaddress
from functools import lru_cache

# Bytes of a request's body. Who has no session sends forms, never files.
MOST_FOR_STRANGERS = 200_000
MOST_FOR_MEMBERS = 125_000_000  # a manual has up to 60 MB, a form several photos

# The name of the session's cookie, as in the settings: a test holds them together.
SESSION_COOKIE = "rigsite_session="

TOO_LARGE = (
    "This is too large to send, or you're no longer logged in. Nothing was "
    "saved. Files can be up to 60 MB each; send them one at a time."
)


@lru_cache(maxsize=4096)  # asked for each open connection
def network_of(address: str) -> str:
    """What counts as one visitor where limits are for each address. The second half of
    an IPv6 address is its user's to choose (RFC 4291, 2.5.1): all of a /64 are one."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    if found.version == 4:
        return str(found)
    if found.ipv4_mapped:
        return str(found.ipv4_mapped)
    network = ipaddress.IPv6Network((int(found), 64), strict=False)
    return str(network.network_address)
