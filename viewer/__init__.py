"""What people see and touch: the command, lists, drawings, 3D."""
