"""The screens, one module each with its styles beside it."""
