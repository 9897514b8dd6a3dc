"""What a search goes through: one narrow table in the order of its answers, kept by triggers.

Filters on the table of scans itself would need an index each, and words none could serve: a
search by words reads every row whatever is done. So what may be asked for lies folded and
together, newest last, and one pass over it answers any question in about the same time.
"""

from __future__ import annotations

from typing import Final

_FOLDED: Final = ("job", "instrument", "state", "rig")


def folded(text: str | None) -> str:
    """How texts are compared: whatever their case."""
    return "" if text is None else text.casefold()


def folded_words(*texts: str | None) -> str:
    """All that free words are looked for in; a line each, so that no word runs over two."""
    return "\n".join(text.casefold() for text in texts if text)


def _row(of: str) -> str:
    names = ", ".join(f"folded({of}.{name})" for name in _FOLDED)
    words = ", ".join(f"{of}.{name}" for name in ("url", "scan_id", *_FOLDED, "fault"))
    return (
        f"SELECT coalesce({of}.made, ''), {of}.url, {names}, {of}.fault IS NOT NULL, "
        f"folded_words({words})"
    )


_OUT = "DELETE FROM lookup WHERE made = coalesce(old.made, '') AND url = old.url;"
_IN = f"INSERT OR REPLACE INTO lookup {_row('new')};"

#: made: '' where it is not known.
LOOKUP: Final = f"""
CREATE TABLE lookup (
  made TEXT NOT NULL, url TEXT NOT NULL, job TEXT NOT NULL, instrument TEXT NOT NULL,
  state TEXT NOT NULL, rig TEXT NOT NULL, faulty INTEGER NOT NULL, words TEXT NOT NULL,
  PRIMARY KEY (made, url)
) WITHOUT ROWID;
CREATE TRIGGER lookup_in AFTER INSERT ON scans BEGIN {_IN} END;
CREATE TRIGGER lookup_out AFTER DELETE ON scans BEGIN {_OUT} END;
CREATE TRIGGER lookup_anew AFTER UPDATE ON scans BEGIN {_OUT} {_IN} END;
"""
