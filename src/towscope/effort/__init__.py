"""Rod-hours from journal and track: what was fished, where and how deep; seasons; timelines."""
