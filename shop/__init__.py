"""People, stations, partners, items and the record: what stands still while axles move."""
