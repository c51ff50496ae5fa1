"""What vector editors need of us: edges by what is selected, one effect from process start to result, a note of it."""
