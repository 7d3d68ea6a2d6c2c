"""What is kept between calls: rasters, site plans, jobs, grade checks and keys."""
