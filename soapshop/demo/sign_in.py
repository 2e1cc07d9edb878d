"""How one signs in to the demo; printed for everyone who starts it."""

USERNAME = "mirela"
PASSWORD = "goose-kettle-lantern"  # noqa: S105
