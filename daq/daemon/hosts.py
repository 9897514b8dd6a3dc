"""Which names this daemon answers to, and which pages may ask it: its own, no others."""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")


def is_loopback(host: str) -> bool:
    """Whether only programs of this machine can reach what is bound there."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


@dataclass(frozen=True, slots=True)
class Names:
    """host: what the daemon is bound to."""

    host: str
    port: int

    def is_own(self, named: str) -> bool:
        """Whether a Host header may be answered. A page of another name that was made to lead
        here (DNS rebinding) comes with that name."""
        name, _, port = named.rpartition(":") if _has_port(named) else (named, "", "80")
        if port != str(self.port):
            return False
        name = name.lower()
        return name in LOOPBACK or name in self._bound() or self._is_any_address(name)

    def is_own_origin(self, origin: str, host: str) -> bool:
        """Whether an Origin header is of the page this daemon itself serves under `host`."""
        return origin.lower() == f"http://{host.lower()}" and self.is_own(host)

    def _bound(self) -> tuple[str, ...]:
        bound = f"[{self.host}]" if ":" in self.host else self.host
        return (bound.lower(), *(() if is_loopback(self.host) else (socket.gethostname().lower(),)))

    def _is_any_address(self, name: str) -> bool:
        """Bound to every address there is, each of them is its own; a number cannot be rebound."""
        if self.host not in ("0.0.0.0", "::"):
            return False
        try:
            ipaddress.ip_address(name.strip("[]"))
        except ValueError:
            return False
        return True


def _has_port(named: str) -> bool:
    return ":" in named.rpartition("]")[2]
