"""What opens over the flight: the bench, the direction drill, devices, pages of paper."""
