"""The way to a board: ports, the SCPI client, finding boards."""
