"""The app in browsers on the room's network: who is let in, which seat is whose, a process for each browser."""
