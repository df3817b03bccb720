"""The invented archive of Ida Thornwick: places, buildings, cards, and the script that draws her scans. MIT licence."""
