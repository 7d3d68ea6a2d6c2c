"""What watches over the service: turns, limits, memory, disk, the log, the metrics."""
