//! Chromium without a window, steered through its driver; and axe-core, which looks for what keeps people
//! from a page.

use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::net::TcpListener;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// The longest wait for anything on a page.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// Windows are no narrower; a page is, on a phone that is made believe.
const NARROWEST: u32 = 500;

/// A driver that runs as long as this.
pub struct Driver {
    child: Child,
    port: u16,
    home: TempDir,
}

impl Drop for Driver {
    fn drop(&mut self) {
        // nothing is left to be done where it ended by itself
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Driver {
    /// Starts the driver on a free port.
    ///
    /// # Errors
    /// What is missing here.
    pub fn start() -> Result<Self, String> {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
        let port = listener.local_addr().expect("it has an address").port();
        drop(listener);
        let home = tempfile::tempdir().expect("a folder");
        let child = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .env("HOME", home.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|why| format!("no browser: chromedriver: {why}"))?;
        let driver = Driver { child, port, home };
        let began = Instant::now();
        while std::net::TcpStream::connect(("127.0.0.1", port)).is_err() {
            if began.elapsed() > PATIENCE {
                return Err("no browser: chromedriver does not answer".to_owned());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(driver)
    }

    /// A window of that size; with or without scripts of pages.
    pub async fn window(&self, (width, height): (u32, u32), scripts: bool) -> Client {
        let profile = self.home.path().join(format!("{width}-{scripts}"));
        let mut wanted = json!({
            "args": [
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                format!("--user-data-dir={}", profile.display()),
            ],
        });
        if !scripts {
            wanted["prefs"] = json!({ "profile.managed_default_content_settings.javascript": 2 });
        }
        if width < NARROWEST {
            wanted["mobileEmulation"] = json!({
                "deviceMetrics": { "width": width, "height": height, "pixelRatio": 1.0 },
            });
        }
        let capabilities = json!({ "goog:chromeOptions": wanted });
        let Value::Object(capabilities) = capabilities else {
            unreachable!("an object was written above");
        };
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(capabilities);
        let client = builder
            .connect(&format!("http://127.0.0.1:{}", self.port))
            .await;
        let client = client.expect("a window");
        if width >= NARROWEST {
            let sized = client.set_window_size(width, height).await;
            sized.expect("its size");
        }
        client
    }
}

/// axe-core as its Python package brings it; None where that is absent.
pub fn axe() -> Option<String> {
    let python = std::env::var_os("WINGTIDE_PYTHON")?;
    let script = "import axe_core_python, os\n\
        print(os.path.join(os.path.dirname(axe_core_python.__file__), 'axe.min.js'))\n";
    let found = Command::new(python).args(["-c", script]).output().ok()?;
    let path = String::from_utf8(found.stdout).ok()?;
    std::fs::read_to_string(path.trim()).ok()
}

/// Keeps a picture in the folder that `WINGTIDE_SHOTS` names, for people to look at.
pub async fn shot(client: &Client, name: &str) {
    if let Some(folder) = std::env::var_os("WINGTIDE_SHOTS") {
        let png = client.screenshot().await.expect("a picture");
        let path = std::path::Path::new(&folder).join(format!("{name}.png"));
        std::fs::write(path, png).expect("written");
    }
}

/// A phone and a desk.
pub const SIZES: [(u32, u32); 2] = [(360, 740), (1280, 900)];

/// Lists what is cut or touches, with the letters that are named for tables. A phone's window grows with
/// what is too wide for it, so its page's own width is measured against; where a table scrolls, only what
/// touches counts; lines stand closer than their letters are high, so a few pixels there are none.
const CUT: &str = "
    const root = document.documentElement, right = root.clientWidth, bad = [];
    if (arguments[0]) root.style.setProperty('--sans', arguments[0]);
    document.querySelectorAll('details').forEach(d => d.open = true);
    if (root.scrollWidth > right) bad.push(`${root.scrollWidth} wide in ${right}`);
    const box = cell => {
      const texts = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT), all = [];
      for (let t = texts.nextNode(); t; t = texts.nextNode()) {
        if (!t.data.trim() || t.parentElement.closest('.unseen, .rest')) continue;
        const range = document.createRange();
        range.selectNodeContents(t);
        const rect = range.getBoundingClientRect();
        if (rect.width && rect.right > 0) all.push(rect);
      }
      const ends = (pick, side) => pick(...all.map(r => r[side]));
      return all.length && { text: cell.textContent, left: ends(Math.min, 'left'),
        right: ends(Math.max, 'right'), top: ends(Math.min, 'top'), bottom: ends(Math.max, 'bottom') };
    };
    for (const row of document.querySelectorAll('table tr')) {
      const seen = [...row.cells].map(box).filter(Boolean);
      for (const b of seen) {
        if (b.right > right + 1 && !row.closest('.scroll')) bad.push('cut: ' + b.text);
        for (const a of seen.slice(0, seen.indexOf(b))) {
          const beside = a.bottom - 4 > b.top && b.bottom - 4 > a.top;
          if (beside && b.left < a.right + 2 && a.left < b.right + 2) bad.push(a.text + '|' + b.text);
        }
      }
    }
    return bad;";

/// Shows pages by name and path in windows of both sizes: none is wider than its window, and axe-core
/// finds nothing serious in it.
pub async fn open_to_all(driver: &Driver, axe: &str, base: &str, pages: &[(&str, &str)]) {
    for size in SIZES {
        let window = driver.window(size, true).await;
        for (name, path) in pages {
            let page = window.goto(&format!("{base}/{path}")).await;
            page.expect("a page");
            let name = format!("{name}-{}", size.0);
            shot(&window, &name).await;
            let found = barriers(&window, axe).await;
            assert_eq!(found, Vec::<String>::new(), "{name}");
            fits(&window, &name).await;
        }
        window.close().await.expect("closed");
    }
}

/// No page is wider than its window, in its own letters nor in wide ones that stand in for them; no
/// entry of a table is cut or touches its neighbour.
pub async fn fits(client: &Client, name: &str) {
    for letters in ["", "'DejaVu Sans', Verdana, sans-serif"] {
        let found = client.execute(CUT, vec![json!(letters)]).await;
        let found = found.expect("widths");
        assert_eq!(found, json!([]), "{name} in a window, {letters}");
    }
}

/// What axe-core finds serious or critical on the page that is shown.
pub async fn barriers(client: &Client, axe: &str) -> Vec<String> {
    client
        .execute(axe, Vec::new())
        .await
        .expect("axe-core runs");
    let script = "const done = arguments[arguments.length - 1];\n\
        axe.run().then(r => done(r.violations), e => done([{impact: 'critical', id: String(e), nodes: []}]));";
    let found = client
        .execute_async(script, Vec::new())
        .await
        .expect("axe-core's answer");
    let all = found.as_array().expect("a list");
    let grave = all
        .iter()
        .filter(|v| v["impact"] == "serious" || v["impact"] == "critical");
    grave
        .map(|v| format!("{}: {}", v["id"], v["nodes"][0]["html"]))
        .collect()
}
