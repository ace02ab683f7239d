//! The pages of a plan in a browser: nothing wider than its window, and nothing that axe-core finds
//! serious, on a phone and a desk.

use super::served::plan;
use crate::browser::{Driver, axe, barriers, fits, shot};
use crate::web::scene::{Pages, reserve};
use harness::places::skipped;
use notifier::web::router;
use std::sync::Arc;

const SIZES: [(u32, u32); 2] = [(360, 740), (1280, 900)];
const PAGES: [(&str, &str); 4] = [
    ("plan", "west-hide/plan"),
    ("plan-all", "plan"),
    ("plan-sheets", "west-hide/plan/sheets"),
    ("plan-none", "east-hide/plan"),
];

#[test]
fn no_page_of_a_plan_shuts_anybody_out() {
    let driver = match Driver::start() {
        Ok(driver) => driver,
        Err(why) => return skipped(&why),
    };
    let Some(axe) = axe() else {
        return skipped("no axe-core: WINGTIDE_PYTHON has no axe_core_python");
    };
    let workspace = reserve();
    plan(
        &workspace,
        &["--visits", "6", "--rain", "3", "--site", "west-hide"],
    );
    let pages = Pages::of(&workspace);
    let web = Arc::clone(&pages.web);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await;
        let listener = listener.expect("a port");
        let base = format!("http://{}", listener.local_addr().expect("an address"));
        tokio::spawn(async move { axum::serve(listener, router(web)).await });
        for size in SIZES {
            let window = driver.window(size, true).await;
            for (name, path) in PAGES {
                let went = window.goto(&format!("{base}/{path}")).await;
                went.expect("a page");
                let name = format!("{name}-{}", size.0);
                shot(&window, &name).await;
                let found = barriers(&window, &axe).await;
                assert_eq!(found, Vec::<String>::new(), "{name}");
                fits(&window, &name).await;
            }
            window.close().await.expect("closed");
        }
    });
}
