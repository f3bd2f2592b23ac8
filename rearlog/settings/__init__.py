"""What is usual for one user, kept in one TOML file; the environment and options come before it."""
