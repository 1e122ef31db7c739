"""What was measured, against which limit, with which gauge, by whom, and what it means."""
