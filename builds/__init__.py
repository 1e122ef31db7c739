"""Which axle, which operation, which parts, which decisions: from order to certificate and after."""
