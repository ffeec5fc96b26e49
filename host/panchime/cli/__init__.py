"""The commands of `panchime`: one file per command."""
