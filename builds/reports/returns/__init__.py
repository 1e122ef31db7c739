"""Reports about what came back: one axle then and now, and what the returned share."""
