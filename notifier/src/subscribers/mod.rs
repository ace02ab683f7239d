//! People who put themselves on the list, change what they get and leave, without asking anyone.
//!
//! Nobody is on the list before they opened the link of a mail that went to their address and said
//! yes on the page behind it. What a page answers is the same whether an address is known or not;
//! what differs is in the mail. Addresses stand in the table `readers` alone and in no log.

pub mod address;
pub mod choices;
pub mod editions;
mod error;
mod held;
pub mod letters;
pub mod link;
pub mod offer;
pub mod openings;
pub mod pages;
pub mod posting;
pub mod rows;

pub use address::Address;
pub use choices::{Choices, Frequency};
pub use error::SubscribersError;
pub use offer::Offer;
