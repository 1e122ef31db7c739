"""Statistics over the record: exact, small, without Django. They rank and estimate; a person decides."""
