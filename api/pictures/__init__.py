"""Pictures of the framework: DOT text in `pictures`, everything else behind it; `render` alone runs dot."""
