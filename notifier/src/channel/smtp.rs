//! Sessions with the mail server of `[mail]`: one mail after another, each error by its kind.

use super::letter::Written;
use super::secret;
use config::service::{MailSettings, Security};
use lettre::Address;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{AsyncSmtpConnection, Certificate, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt, Rset};
use lettre::transport::smtp::extension::{ClientId, Extension, MailParameter};
use lettre::transport::smtp::response::Response;
use secrecy::ExposeSecret;
use std::fmt::Display;
use std::future::Future;
use std::time::Duration;
use tokio::net::TcpStream;

/// The way to the mail server, with all that it needs read and checked.
pub struct Server {
    host: String,
    port: u16,
    security: Security,
    tls: TlsParameters,
    login: Option<Credentials>,
    timeout: Duration,
    hello: ClientId,
}

/// Why no session could be opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSession {
    /// In a phrase.
    pub why: String,
    /// The server said that it would say the same again.
    pub for_good: bool,
}

/// Why a mail was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotSent {
    /// For a reason that concerns us, not the reader: the sender is refused, the session broke
    /// before the mail began.
    Way(String),
    /// Another try may succeed.
    ForNow(String),
    /// The whole mail went out, but no answer came: it may have been taken.
    Unanswered(String),
    /// Another try comes to the same.
    ForGood {
        /// The server's words.
        why: String,
        /// It says that there is no such mailbox.
        no_mailbox: bool,
    },
}

impl NotSent {
    /// The reason alone.
    pub fn into_words(self) -> String {
        match self {
            NotSent::Way(why) | NotSent::ForNow(why) | NotSent::Unanswered(why) => why,
            NotSent::ForGood { why, .. } => why,
        }
    }
}

/// An open session.
pub struct Session {
    conn: AsyncSmtpConnection,
    timeout: Duration,
    usable: bool,
}

impl Server {
    /// Reads the password and certificates.
    ///
    /// # Errors
    /// A sentence where one of them cannot be used.
    pub fn of(settings: &MailSettings) -> Result<Self, String> {
        let login = match &settings.login {
            Some((user, password)) => {
                let password = secret::read(password)
                    .map_err(|why| format!("the password of [mail] cannot be read: {why}"))?;
                let password = password.expose_secret().to_owned();
                Some(Credentials::new(user.clone(), password))
            }
            None => None,
        };
        Ok(Server {
            host: settings.server.clone(),
            port: settings.port,
            security: settings.security,
            tls: tls(settings)?,
            login,
            timeout: settings.timeout,
            hello: ClientId::default(),
        })
    }

    /// Opens a session: connected, encrypted where it has to be, logged in.
    ///
    /// # Errors
    /// [`NoSession`].
    pub async fn open(&self) -> Result<Session, NoSession> {
        // the library itself waits for ever
        match tokio::time::timeout(self.timeout, self.connect()).await {
            Ok(opened) => opened,
            Err(_) => Err(self.none("it does not answer in time", false)),
        }
    }

    async fn connect(&self) -> Result<Session, NoSession> {
        let refused = |e: Error| self.none(&words(&e), e.is_permanent());
        let mut conn = match self.security {
            Security::Tls => {
                let to = (self.host.as_str(), self.port);
                let (timeout, tls) = (Some(self.timeout), Some(self.tls.clone()));
                AsyncSmtpConnection::connect_tokio1(to, timeout, &self.hello, tls, None).await
            }
            Security::Starttls | Security::None => {
                let stream = TcpStream::connect((self.host.as_str(), self.port)).await;
                // a mail's end is a packet of its own, which would wait for the rest's receipt
                let stream = stream.and_then(|s| s.set_nodelay(true).map(|()| s));
                let stream = stream.map_err(|e| self.none(&e.to_string(), false))?;
                AsyncSmtpConnection::connect_with_transport(Box::new(stream), &self.hello).await
            }
        }
        .map_err(refused)?;
        if self.security == Security::Starttls {
            if !conn.can_starttls() {
                let why = "it offers no STARTTLS, so the way to it is not private";
                return Err(self.none(why, true));
            }
            let private = conn.starttls(self.tls.clone(), &self.hello).await;
            private.map_err(refused)?;
        }
        if let Some(login) = &self.login {
            let ways = [Mechanism::Plain, Mechanism::Login];
            let logged_in = conn.auth(&ways, login).await;
            logged_in.map_err(|e| {
                let why = format!("the login is refused: {}", words(&e));
                self.none(&why, e.is_permanent())
            })?;
        }
        Ok(Session {
            conn,
            timeout: self.timeout,
            usable: true,
        })
    }

    fn none(&self, why: &str, for_good: bool) -> NoSession {
        NoSession {
            why: format!("the mail server {}:{}: {why}", self.host, self.port),
            for_good,
        }
    }
}

fn tls(settings: &MailSettings) -> Result<TlsParameters, String> {
    let mut tls = TlsParameters::builder(settings.server.clone());
    if let Some(path) = &settings.certificates {
        let shown = path.display();
        let pem = std::fs::read(path)
            .map_err(|e| format!("the certificates {shown} of [mail] cannot be read: {e}"))?;
        let certificate = Certificate::from_pem(&pem)
            .map_err(|e| format!("the certificates {shown} of [mail] are none: {e}"))?;
        tls = tls.add_root_certificate(certificate);
    }
    let tls = tls.build_rustls();
    tls.map_err(|e| {
        format!(
            "no way to {} can be encrypted: {}",
            settings.server,
            words(&e)
        )
    })
}

impl Session {
    /// Hands one mail over; gives the server's words.
    ///
    /// # Errors
    /// [`NotSent`], by kind.
    pub async fn send(&mut self, mail: &Written) -> Result<String, NotSent> {
        let (sender, reader) = (mail.envelope.from().cloned(), mail.envelope.to());
        let [reader] = reader else {
            let why = "a mail goes to one reader".to_owned();
            return Err(NotSent::ForGood {
                why,
                no_mailbox: false,
            });
        };
        let options = self.options(sender.as_ref(), reader)?;
        let to_us = |e: Broken| NotSent::Way(e.why);
        self.command(Mail::new(sender, options))
            .await
            .map_err(to_us)?;
        let rcpt = self.command(Rcpt::new(reader.clone(), vec![])).await;
        if let Err(broken) = rcpt {
            return Err(self.refused(broken).await);
        }
        if let Err(broken) = self.command(Data).await {
            return Err(self.refused(broken).await);
        }
        self.hand_over(&mail.bytes).await
    }

    async fn hand_over(&mut self, bytes: &[u8]) -> Result<String, NotSent> {
        let answered = within(self.timeout, self.conn.message(bytes)).await;
        match answered {
            Ok(response) => Ok(said(&response)),
            Err(broken) if broken.reply.is_some() => Err(self.refused(broken).await),
            Err(broken) => {
                self.usable = false;
                Err(NotSent::Unanswered(broken.why))
            }
        }
    }

    /// Addresses beyond ASCII need a server that takes them (RFC 6531, 3.2).
    fn options(
        &self,
        sender: Option<&Address>,
        reader: &Address,
    ) -> Result<Vec<MailParameter>, NotSent> {
        let ascii = |a: &Address| AsRef::<str>::as_ref(a).is_ascii();
        if sender.is_none_or(ascii) && ascii(reader) {
            return Ok(vec![]);
        }
        if self
            .conn
            .server_info()
            .supports_feature(Extension::SmtpUtfEight)
        {
            return Ok(vec![MailParameter::SmtpUtfEight]);
        }
        Err(NotSent::ForGood {
            why: "the mail server takes no address with letters beyond ASCII".to_owned(),
            no_mailbox: false,
        })
    }

    async fn command(&mut self, command: impl Display) -> Result<Response, Broken> {
        let answered = within(self.timeout, self.conn.command(command)).await;
        if answered.as_ref().is_err_and(Broken::ends_the_session) {
            self.usable = false;
        }
        answered
    }

    /// What the server's answer means for the mail; the session is made ready for the next.
    async fn refused(&mut self, broken: Broken) -> NotSent {
        if broken.ends_the_session() {
            self.usable = false;
        }
        if self.usable && self.command(Rset).await.is_err() {
            self.usable = false;
        }
        match broken.reply {
            Some(Reply::ForGood) => NotSent::ForGood {
                no_mailbox: names_no_mailbox(&broken.why),
                why: broken.why,
            },
            Some(Reply::ForNow) => NotSent::ForNow(broken.why),
            None => NotSent::Way(broken.why),
        }
    }

    /// Whether it can take another mail.
    pub fn is_usable(&self) -> bool {
        self.usable
    }

    /// Takes leave, where there is still somebody to take leave of.
    pub async fn close(mut self) {
        if self.usable {
            let _ = within(self.timeout, self.conn.quit()).await;
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reply {
    ForNow,
    ForGood,
}

/// A command that did not go well: the server's reply, or none.
struct Broken {
    why: String,
    reply: Option<Reply>,
}

impl Broken {
    /// No reply, or the one that closes the channel (RFC 5321, 3.8).
    fn ends_the_session(&self) -> bool {
        self.reply.is_none() || self.why.starts_with("421")
    }
}

async fn within(
    timeout: Duration,
    command: impl Future<Output = Result<Response, Error>>,
) -> Result<Response, Broken> {
    match tokio::time::timeout(timeout, command).await {
        Ok(Ok(response)) => Ok(response),
        Ok(Err(error)) => Err(Broken {
            why: words(&error),
            reply: match () {
                () if error.is_permanent() => Some(Reply::ForGood),
                () if error.is_transient() => Some(Reply::ForNow),
                () => None,
            },
        }),
        Err(_) => Err(Broken {
            why: "the mail server does not answer in time".to_owned(),
            reply: None,
        }),
    }
}

/// The server's own words behind its code, or what broke.
fn words(error: &Error) -> String {
    let mut cause: &dyn std::error::Error = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    match error.status() {
        Some(code) => one_line(&format!("{code} {cause}")),
        None => one_line(&cause.to_string()),
    }
}

fn said(response: &Response) -> String {
    let words: Vec<&str> = response.message().collect();
    one_line(&format!("{} {}", response.code(), words.join(" ")))
}

/// What a server says goes to terminals and tables: one line, no control characters, not endless.
fn one_line(text: &str) -> String {
    let plain = text.replace(|c: char| c.is_control(), " ");
    let words: Vec<&str> = plain.split_whitespace().collect();
    words.join(" ").chars().take(300).collect()
}

/// X.1.1, X.1.2, X.1.3, X.1.6 and X.1.10 (RFC 3463, 3.2; RFC 7505, 5): no such mailbox or host.
fn names_no_mailbox(answer: &str) -> bool {
    let codes = ["5.1.1", "5.1.2", "5.1.3", "5.1.6", "5.1.10"];
    answer.split_whitespace().any(|word| codes.contains(&word))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first answer is the example of RFC 3463, 2 (in the form of RFC 2034, 4).
    #[test]
    fn a_mailbox_that_is_not_there_is_told_from_a_policy() {
        assert!(names_no_mailbox(
            "550 5.1.1 Mailbox \"nosuchuser\" does not exist"
        ));
        assert!(!names_no_mailbox("550 5.7.1 relaying denied"));
        assert!(!names_no_mailbox("550 no"));
    }

    #[test]
    fn a_servers_words_are_one_plain_line() {
        assert_eq!(one_line("550 a\r\n\u{1b}[31mb"), "550 a [31mb");
    }
}
