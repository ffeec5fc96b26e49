"""From a curve to what happened. Every definition stands in docs/analysis.md."""
