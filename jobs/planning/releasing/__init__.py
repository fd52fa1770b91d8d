"""Where the releases of jobs.makes meet the minutes spent on them."""
