"""What the tablet page takes along and brings back."""
