//! A reserve with its pages.

use axum::body::Body;
use axum::http::{HeaderMap, Request, Response, StatusCode};
use chrono::{DateTime, Utc};
use harness::program::Workspace;
use harness::reserve;
use notifier::web::{Web, router};
use std::sync::Arc;
use tower::ServiceExt;

pub const SITES: [(&str, &str); 2] = [("west-hide", "West Hide"), ("east-hide", "East Hide")];

/// A Wednesday in autumn.
pub const NOW: &str = "2024-09-04T10:00:00Z";

/// The reserve, loaded and fitted.
pub fn fitted(settings: &str, counts: &str) -> Workspace {
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings)
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// Two hides with stints and Dunlin.
pub fn reserve() -> Workspace {
    fitted(&reserve::settings(&SITES), &reserve::counts(&SITES))
}

/// The pages of a workspace.
pub struct Pages {
    pub web: Arc<Web>,
    runtime: tokio::runtime::Runtime,
}

/// An answer whose body has been read.
pub struct Answer {
    pub code: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.body).expect("UTF-8")
    }

    pub fn field(&self, name: &str) -> &str {
        let value = self
            .headers
            .get(name)
            .unwrap_or_else(|| panic!("no {name}"));
        value.to_str().expect("ASCII")
    }
}

impl Pages {
    pub fn of(workspace: &Workspace) -> Self {
        let now: DateTime<Utc> = NOW.parse().expect("an instant");
        let web = Web::of(&workspace.path(""), Arc::new(move || now));
        assert!(web.refresh(), "the workspace is read");
        let runtime = tokio::runtime::Builder::new_multi_thread();
        Pages {
            web,
            runtime: { runtime }.worker_threads(2).build().expect("a runtime"),
        }
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask(path, &[])
    }

    /// Asks with these fields.
    pub fn ask(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut request = Request::get(path);
        for (name, value) in fields {
            request = request.header(*name, *value);
        }
        self.send(request.body(Body::empty()).expect("a request"))
    }

    pub fn send(&self, request: Request<Body>) -> Answer {
        self.runtime.block_on(async {
            let answer: Response<Body> = router(Arc::clone(&self.web))
                .oneshot(request)
                .await
                .expect("no service fails");
            let (head, body) = answer.into_parts();
            let body = axum::body::to_bytes(body, 1 << 26).await.expect("a body");
            Answer {
                code: head.status,
                headers: head.headers,
                body: body.to_vec(),
            }
        })
    }
}

/// The pages on a port of this machine, for browsers; gives its address.
pub async fn served(web: Arc<Web>) -> String {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await;
    let listener = listener.expect("a port");
    let base = format!("http://{}", listener.local_addr().expect("an address"));
    tokio::spawn(async move { axum::serve(listener, router(web)).await });
    base
}
