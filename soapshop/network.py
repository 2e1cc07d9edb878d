"""What this machine is called on the workshop's own network. Standard library only."""

import socket


def lan_address() -> str:
    """The address at which a phone on the same network finds this machine; 127.0.0.1 without a network.

    Nothing is sent: connecting a datagram socket only asks the routing table which address it would use.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1, RFC 5737: never a real host
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def own_names() -> list[str]:
    """Every name and address by which this machine goes now, the loopback first; each once."""
    name = socket.gethostname().lower()
    return list(dict.fromkeys(["localhost", "127.0.0.1", "::1", name, f"{name}.local", lan_address()]))
