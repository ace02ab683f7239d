//! Digests that go out: by a mail server of the ordinary kind and to a real receiver of posts, and
//! what is kept where either does not take them.

mod by_mail;
pub mod fixture;
mod leaving;
mod refusals;
mod returned;
mod webhooks;
