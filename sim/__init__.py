"""Flight physics and studies of flat-sheet airframes; nothing here opens a window."""
