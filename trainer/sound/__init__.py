"""The click and the reference chord, as samples; the way they reach an ear is chosen when they are wanted."""
