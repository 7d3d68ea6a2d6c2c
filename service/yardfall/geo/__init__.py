"""Files and coordinates in, plain arrays out. Nothing here asks the network for anything."""

import os

os.environ["PROJ_NETWORK"] = "OFF"  # read when PROJ is loaded, by pyproj and rasterio alike
