//! Reports: plain values first, then the drawing of them.
//!
//! A report is a value made of rows ([`read::ReadReport`], [`review::Review`], [`show::Shown`]); [`terminal`] draws it, and
//! as JSON it is the value itself. Rows say where each fact stands ([`place::Place`]). Nothing here judges or joins: a
//! report picks, sorts and counts what the stages before it found, and shows lines through
//! [`crate::diagnose::LineResolver`] without knowing where they are kept. All escaping is in [`inert`].
//! Read [`review::write_review`] first, then [`terminal::review::draw_review`].

pub mod archive;
pub mod attention;
pub mod caution;
pub mod export;
pub mod fact;
pub mod findings;
pub mod html;
pub mod inert;
pub mod input_file;
pub mod investigation;
pub mod lang;
pub mod lengths;
pub mod lots;
pub mod mask;
pub mod moment;
pub mod monthly;
pub mod naming;
pub mod notice;
pub mod place;
pub mod policy;
pub mod ranking;
pub mod read;
pub mod reason;
pub mod recall;
pub mod release;
pub mod review;
pub mod scope;
pub mod selftest;
pub mod service;
pub mod show;
pub mod sites;
pub mod table;
pub mod terminal;
pub mod told;
