//! unladen-study
