"""What every room stands on: millimetres, errors, folders, the cache, processes."""
