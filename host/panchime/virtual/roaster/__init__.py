"""The virtual roaster: beans, pan or popper, probe, and the person who stands beside it."""
