"""Where is the boat now: what its receiver, sounder and log say, live, by cable, Wi-Fi or phone."""
