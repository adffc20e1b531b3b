"""How much was fished, with what, where and how deep: rod-hours, seasons, the timeline of a day."""
