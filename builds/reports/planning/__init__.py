"""What the shop is about to do, worked out from what is there. Reads only; a plan decides nothing."""
