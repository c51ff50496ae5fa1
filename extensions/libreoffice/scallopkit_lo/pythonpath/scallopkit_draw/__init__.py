"""The parts of the macro for Draw: reading shapes, asking the library, drawing its lines; no geometry."""
