//! A mail server that does as it is told, so that every answer of the protocol can be met.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};

/// What it does with mail to an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deed {
    /// Takes it.
    Take,
    /// Answers RCPT so.
    Rcpt(&'static str),
    /// Answers the end of the mail so.
    End(&'static str),
    /// Takes the mail and goes away without a word.
    TakeAndGo,
    /// Goes away within the mail.
    GoWithin,
    /// Reads the mail and says no more, nor takes it.
    Stall,
}

/// What it was told and has taken.
#[derive(Default)]
struct Book {
    deeds: BTreeMap<String, Vec<Deed>>,
    taken: Vec<(String, String)>,
    mails: Vec<(String, String)>,
    sender: Option<&'static str>,
    greeting: Option<&'static str>,
    sessions: usize,
    hangs_up: Option<usize>,
}

/// The server; it listens as long as the test runs.
pub struct Scripted {
    book: Arc<Mutex<Book>>,
    /// Its port.
    pub port: u16,
}

impl Scripted {
    /// Listens on a port of its own.
    pub fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
        let port = listener.local_addr().expect("it has an address").port();
        let book = Arc::new(Mutex::new(Book::default()));
        let shared = Arc::clone(&book);
        std::thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let book = Arc::clone(&shared);
                // a client that goes away ends its session
                std::thread::spawn(move || session(stream, &book));
            }
        });
        Scripted { book, port }
    }

    /// What to do with mail to that address, time after time; then it takes it.
    pub fn does(&self, mail: &str, deeds: &[Deed]) {
        let mut book = self.book.lock().expect("the book");
        book.deeds
            .insert(mail.to_owned(), deeds.iter().rev().copied().collect());
    }

    /// Greets with this from now on; None takes it back.
    pub fn greets(&self, line: Option<&'static str>) {
        self.book.lock().expect("the book").greeting = line;
    }

    /// Answers MAIL with this from now on; None takes it back.
    pub fn answers_sender(&self, line: Option<&'static str>) {
        self.book.lock().expect("the book").sender = line;
    }

    /// Reader and Message-ID of each mail that it took, in order.
    pub fn taken(&self) -> Vec<(String, String)> {
        self.book.lock().expect("the book").taken.clone()
    }

    /// Every mail that it took, whole, after its reader's address.
    pub fn mails(&self) -> Vec<(String, String)> {
        self.book.lock().expect("the book").mails.clone()
    }

    /// Forgets what it took and what it was told to do.
    pub fn forget(&self) {
        let mut book = self.book.lock().expect("the book");
        book.taken.clear();
        book.mails.clear();
        book.deeds.clear();
    }

    /// Hangs up on every so many-th session before a word is said; on none where None.
    pub fn hangs_up_on_every(&self, which: Option<usize>) {
        self.book.lock().expect("the book").hangs_up = which;
    }

    /// `[mail]` for it.
    pub fn settings(&self, more: &str) -> String {
        format!(
            "\n[mail]\nserver = \"127.0.0.1\"\nport = {}\nsecurity = \"none\"\n{more}\n",
            self.port
        )
    }
}

fn session(stream: TcpStream, book: &Mutex<Book>) -> Option<()> {
    let mut lines = BufReader::new(stream.try_clone().ok()?).lines();
    let say = |line: &str| (&stream).write_all(format!("{line}\r\n").as_bytes()).ok();
    let greeting = {
        let mut book = book.lock().ok()?;
        book.sessions += 1;
        if book
            .hangs_up
            .is_some_and(|n| book.sessions.is_multiple_of(n))
        {
            return None;
        }
        book.greeting
    };
    say(greeting.unwrap_or("220 ready"))?;
    let (mut reader, mut deed) = (String::new(), Deed::Take);
    loop {
        let line = lines.next()?.ok()?;
        let verb = line.split([' ', ':']).next()?.to_uppercase();
        match verb.as_str() {
            "EHLO" => say("250 scripted")?,
            "MAIL" => {
                let answer = book.lock().ok()?.sender;
                say(answer.unwrap_or("250 ok"))?;
            }
            "RCPT" => {
                reader = line.split(['<', '>']).nth(1)?.to_owned();
                let mut book = book.lock().ok()?;
                let next = book.deeds.get_mut(&reader).and_then(Vec::pop);
                deed = next.unwrap_or(Deed::Take);
                match deed {
                    Deed::Rcpt(answer) => say(answer)?,
                    _ => say("250 ok")?,
                }
            }
            "DATA" => {
                say("354 go on")?;
                let (mut id, mut whole) = (String::new(), String::new());
                loop {
                    let line = lines.next()?.ok()?;
                    if deed == Deed::GoWithin {
                        return None;
                    }
                    if let Some(value) = line.strip_prefix("Message-ID: ") {
                        id = value.to_owned();
                    }
                    if line == "." {
                        break;
                    }
                    whole += line.strip_prefix('.').unwrap_or(&line);
                    whole += "\r\n";
                }
                if let Deed::Take | Deed::TakeAndGo = deed {
                    let mut book = book.lock().ok()?;
                    book.taken.push((reader.clone(), id));
                    book.mails.push((reader.clone(), whole));
                }
                match deed {
                    Deed::End(answer) => say(answer)?,
                    Deed::TakeAndGo => return None,
                    // the client goes, and this session ends with it
                    Deed::Stall => {
                        lines.next()?.ok()?;
                    }
                    _ => say("250 2.0.0 taken")?,
                }
            }
            "QUIT" => return say("221 bye"),
            _ => say("250 ok")?,
        }
    }
}
