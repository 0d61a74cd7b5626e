"""What to change: nothing is said that was not applied to the airframe, checked and flown."""
