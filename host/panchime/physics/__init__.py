"""What is true of water, air and the like, whoever measures it."""
