"""The scene file: what it may say, reading it with every fault at once, changing a value, starting a new one."""
