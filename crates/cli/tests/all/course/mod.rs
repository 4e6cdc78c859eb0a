//! `course` and `fit`: a log to a track, and what is known of the track from elsewhere.

mod from_log;
mod truth;
