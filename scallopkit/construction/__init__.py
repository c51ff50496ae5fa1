"""What turns a trimmed edge into pieces to cut."""
