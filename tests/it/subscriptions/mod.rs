//! People who put themselves on the list: through a mail server of the ordinary kind, by every page,
//! and with links that are old, used, forged or another's.

mod by_mail;
mod choices;
mod in_a_browser;
mod keeper;
mod links;
pub mod scene;
mod second_looks;
