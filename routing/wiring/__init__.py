"""The electrical half of a plan: nets, conductors, joints, sizes, the panel, tests with a meter."""
