"""Running every plant at its own best: settings, prices, candidates, the march under dispatch, and its why-record."""
