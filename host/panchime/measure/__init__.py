"""Measurements of the firmware's own accuracy against independent references and known truths."""
