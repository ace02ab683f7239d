//! A season against the other years: all passages of a site at a glance, and the course of one.

mod course;
mod overview;
#[cfg(test)]
mod tests;

pub use course::CourseChart;
pub use overview::{SeasonChart, SeasonRow};
