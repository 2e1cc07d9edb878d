"""What `serve` and `demo` share: make the workshop ready, say where it is, and serve it until Ctrl-C."""
