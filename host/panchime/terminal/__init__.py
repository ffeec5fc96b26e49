"""What is drawn in the terminal."""
