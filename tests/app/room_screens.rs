//! Pictures of the screens of courses and lectures, for people to look at.
