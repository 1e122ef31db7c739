"""A shop of ten thousand, a hundred thousand or a million axles in the real tables, with planted causes."""
