"""Files and coordinates in, plain arrays out.

Nothing here asks the network for anything but `sources/web_file`, which asks for files below the
addresses that whoever runs the planner named.
"""

import os

os.environ["PROJ_NETWORK"] = "OFF"  # read when PROJ is loaded, by pyproj and rasterio alike
