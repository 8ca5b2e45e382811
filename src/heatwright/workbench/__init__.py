"""The workbench: a study looked at in a browser on this machine. `heatwright open` starts it; nothing else loads it."""
