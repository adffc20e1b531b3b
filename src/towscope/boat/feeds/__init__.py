"""Live feeds by cable, Wi-Fi or phone: what the boat's receiver, sounder and log say now."""
