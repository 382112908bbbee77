"""What each finger does in a change, what a hand can hold, and what it costs. Pure."""
