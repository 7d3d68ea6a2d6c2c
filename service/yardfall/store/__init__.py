"""What is kept between calls: uploaded rasters and, later, jobs, keys and site plans."""
