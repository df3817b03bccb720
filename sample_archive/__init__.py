"""The invented archive of Ida Thornwick: places, cards, and the script that draws her scans. MIT licence."""
