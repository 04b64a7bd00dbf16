"""What is there, and what is wanted: lengths, framing, boxes, circuits, cable, the limits."""
