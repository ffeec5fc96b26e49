"""Roasts as pages that work without a network."""
