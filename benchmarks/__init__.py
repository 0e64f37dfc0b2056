"""Side by side with general-purpose libraries; answers are compared before anything is timed."""
