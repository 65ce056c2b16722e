"""Studies room: questions put to the engine, each with its own small answer."""
