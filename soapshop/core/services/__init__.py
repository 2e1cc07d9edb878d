"""Every write of the workshop itself: people, settings, photos, history and the first visit."""
