//! GS1 element strings.
