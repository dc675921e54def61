//! The window itself: drains reports, draws, carries out effects.
