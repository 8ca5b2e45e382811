"""Each kind of part, lowered to nodes, conductances, streams and sources: one subject a file."""
