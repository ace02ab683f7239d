//! A reader's way in a browser: with scripts off, and every page looked at by axe-core, on a phone and a
//! desk.

use super::keeper::token;
use super::scene::{mails, text};
use crate::browser::{Driver, PATIENCE, axe, barriers, fits, shot};
use crate::deliveries::fixture::reserve;
use chrono::Utc;
use fantoccini::{Client, Locator};
use harness::places;
use harness::program::Workspace;
use harness::scripted::Scripted;
use notifier::service::outgoing::Channels;
use notifier::service::stop::Stop;
use notifier::service::{Hands, Service};
use std::sync::Arc;
use std::time::Duration;

const SIZES: [(u32, u32); 2] = [(360, 740), (1280, 900)];

/// The reserve, served as `wingtide serve` does.
struct Here {
    workspace: Workspace,
    server: Scripted,
    base: String,
    stop: Stop,
}

impl Here {
    async fn serve() -> Self {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0")
            .await
            .expect("a port");
        let address = listener.local_addr().expect("an address");
        let server = Scripted::start();
        let base = format!("http://{address}");
        let service = format!("\n[service]\npublic_url = \"{base}\"\nsubscribe = true\n");
        let mail = server.settings("");
        let made = tokio::task::spawn_blocking(move || reserve(&(service + &mail)));
        let workspace = made.await.expect("a reserve");
        let dir = workspace.path("");
        let settings = config::load(&dir).expect("settings");
        let hands = Hands {
            clock: Arc::new(Utc::now),
            deliver: Arc::new(Channels),
            second: Duration::from_secs(1),
        };
        let more = Channels::pages(&dir, &settings, &hands.clock);
        let stop = Stop::default();
        let service = Service::open(&dir, &settings, address, hands, stop.clone());
        tokio::spawn(service.expect("tables").serve(listener, more));
        Here {
            workspace,
            server,
            base,
            stop,
        }
    }

    /// The link to such a page in that mail, the first being 1.
    fn link(&self, number: usize, page: &str) -> String {
        let mail = mails(&self.server, number).swap_remove(number - 1);
        let text = text(mail.1.as_bytes());
        let start = format!("{}/{page}/", self.base);
        let mut words = text.split_whitespace();
        words
            .find(|w| w.starts_with(&start))
            .expect("a link")
            .to_owned()
    }

    async fn send(self, date: &'static str) -> Self {
        let done = tokio::task::spawn_blocking(move || {
            self.workspace
                .run(&["digest", "--send", "--date", date])
                .works();
            self
        });
        done.await.expect("sent")
    }
}

async fn press(window: &Client, words: &str) {
    let path = format!("//button[normalize-space()='{words}']");
    let button = window
        .wait()
        .at_most(PATIENCE)
        .for_element(Locator::XPath(&path))
        .await;
    button.expect(words).click().await.expect(words);
}

async fn reads(window: &Client, words: &str) {
    let path = format!("//*[text()[contains(., \"{words}\")]]");
    let found = window
        .wait()
        .at_most(PATIENCE)
        .for_element(Locator::XPath(&path))
        .await;
    if found.is_err() {
        panic!("{words}: {}", window.source().await.expect("a page"));
    }
}

async fn tick(window: &Client, field: &str, value: &str) {
    let css = format!("input[name='{field}'][value='{value}']");
    let found = window.find(Locator::Css(&css)).await.expect("a field");
    found.click().await.expect("ticked");
}

async fn goes_through(here: Here, window: &Client) -> Here {
    asks_for_it(&here, window, "anna@skerrow.example").await;
    reads(window, "A mail is on its way").await;
    window.goto(&here.link(1, "confirm")).await.expect("a page");
    press(window, "Yes, send it to me").await;
    reads(window, "The next digest comes to").await;
    let change = window.find(Locator::LinkText("Change what you get")).await;
    change.expect("a link").click().await.expect("followed");
    tick(window, "site", "loch-arne").await;
    tick(window, "frequency", "weekly").await;
    press(window, "Keep these choices").await;
    reads(window, "Your choices are kept").await;
    let here = here.send("2024-09-04").await;
    window.goto(&here.link(2, "leave")).await.expect("a page");
    press(window, "No more digests").await;
    reads(window, "You are off the list").await;
    asks_for_it(&here, window, "berta@skerrow.example").await;
    reads(window, "A mail is on its way").await;
    here
}

async fn asks_for_it(here: &Here, window: &Client, address: &str) {
    window
        .goto(&format!("{}/subscribe", here.base))
        .await
        .expect("a page");
    let mail = window.find(Locator::Id("mail")).await.expect("a field");
    mail.send_keys(address).await.expect("written");
    tick(window, "site", "long-bank").await;
    press(window, "Put me on the list").await;
}

/// Every page of a reader and of the keeper.
async fn is_open_to_all(here: &Here, window: &Client, width: u32, axe: &str) {
    let pages = [
        ("subscribe", format!("{}/subscribe", here.base)),
        ("asked", format!("{}/subscribe/asked", here.base)),
        ("confirm", here.link(3, "confirm")),
        ("choices", here.link(2, "choices")),
        ("leave", here.link(2, "leave")),
        ("nowhere", format!("{}/confirm/x", here.base)),
        ("sites", format!("{}/", here.base)),
        ("week", format!("{}/long-bank?week=2024-W36", here.base)),
        ("enter", format!("{}/keeper", here.base)),
    ];
    for (name, page) in &pages {
        window.goto(page).await.expect("a page");
        looks_well(window, &format!("{name}-{width}"), axe).await;
    }
    let field = window.find(Locator::Id("token")).await.expect("a field");
    field
        .send_keys(&token(&here.workspace))
        .await
        .expect("written");
    press(window, "Come in").await;
    reads(window, "All is well.").await;
    looks_well(window, &format!("keeper-{width}"), axe).await;
    let looks = format!("{}/keeper/second-looks", here.base);
    window.goto(&looks).await.expect("a page");
    looks_well(window, &format!("second-looks-{width}"), axe).await;
}

/// What readers see who say yes, pause, and have all of it forgotten.
async fn is_open_to_the_last(here: &Here, window: &Client, axe: &str) {
    window.goto(&here.link(3, "confirm")).await.expect("a page");
    press(window, "Yes, send it to me").await;
    reads(window, "The next digest comes to").await;
    looks_well(window, "confirmed", axe).await;
    let change = window.find(Locator::LinkText("Change what you get")).await;
    change.expect("a link").click().await.expect("followed");
    press(window, "Pause the digest").await;
    reads(window, "The digest is paused").await;
    looks_well(window, "paused", axe).await;
    press(window, "Forget me").await;
    reads(window, "Tick the box").await;
    looks_well(window, "not-sure", axe).await;
    tick(window, "sure", "yes").await;
    press(window, "Forget me").await;
    reads(window, "You are forgotten").await;
    looks_well(window, "forgotten", axe).await;
}

async fn looks_well(window: &Client, name: &str, axe: &str) {
    shot(window, name).await;
    assert_eq!(barriers(window, axe).await, Vec::<String>::new(), "{name}");
    let source = window.source().await.expect("a page");
    assert!(!source.contains("<script"), "{name}");
    fits(window, name).await;
}

#[test]
fn a_reader_comes_and_goes_without_scripts_and_no_page_shuts_anybody_out() {
    let driver = match Driver::start() {
        Ok(driver) => driver,
        Err(why) => return places::skipped(&why),
    };
    let Some(axe) = axe() else {
        return places::skipped("no axe-core: WINGTIDE_PYTHON has no axe_core_python");
    };
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let here = Here::serve().await;
        let window = driver.window(SIZES[1], false).await;
        let here = goes_through(here, &window).await;
        window.close().await.expect("closed");
        for size in SIZES {
            let window = driver.window(size, true).await;
            is_open_to_all(&here, &window, size.0, &axe).await;
            window.close().await.expect("closed");
        }
        let window = driver.window(SIZES[0], true).await;
        is_open_to_the_last(&here, &window, &axe).await;
        window.close().await.expect("closed");
        here.stop.now();
    });
}
