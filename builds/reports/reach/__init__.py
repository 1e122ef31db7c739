"""The reach list: every axle that one cause touched, or several together, and where it is now."""
