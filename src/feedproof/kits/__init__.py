"""What a kit buys, how long it lasts, and which one to choose."""
