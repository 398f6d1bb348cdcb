//! HTTP on loopback: one page, a stream of frames, and what the page asks for. Nothing of the file system can be reached from here: what
//! is served stands in the program.
//!
//! A request is answered only where its `Host` is this server's own name, and a change only where its `Origin` is too, so that no other
//! page in the same browser can steer the run (DNS rebinding and cross-site requests).

use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::sync::mpsc::{Sender, channel};
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde_json::json;
use tokio::sync::{oneshot, watch};
use tokio_stream::StreamExt;
use tokio_stream::wrappers::WatchStream;

use super::asked::{Asked, Wanted};
use super::odds::Question;
use super::pace;
use super::session::Session;
use super::underway::Underway;
use super::wire::Wish;
use crate::fault;
use crate::lesson;
use crate::scenario::shipped;

/// Longest wish of a page, bytes.
const LONGEST: usize = 4096;
/// No script and no style but the server's own, nothing from elsewhere, in nobody's frame.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; \
    base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What every handler has.
#[derive(Clone)]
struct Shared {
    wishes: Sender<Wish>,
    newest: watch::Receiver<Arc<str>>,
    at: SocketAddr,
    campaign: Arc<Underway>,
    /// One is planned at a time: that runs the healthy job.
    plans: Arc<tokio::sync::Mutex<()>>,
}

/// A server that is up.
pub struct Served {
    /// Where.
    pub at: SocketAddr,
    listener: tokio::net::TcpListener,
    runtime: tokio::runtime::Runtime,
    session: Session,
}

/// Takes a place on this address; port 0 is any that is free.
///
/// # Errors
/// The place is taken, or may not be had.
pub fn serve(session: Session, ip: IpAddr, port: u16) -> std::io::Result<Served> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
    let listener = runtime.block_on(tokio::net::TcpListener::bind((ip, port)))?;
    Ok(Served { at: listener.local_addr()?, listener, runtime, session })
}

impl Served {
    /// Serves until `stop` says so, asked four times a second.
    ///
    /// # Errors
    /// The network of this machine fails.
    pub fn until(self, stop: impl Fn() -> bool + Send + 'static) -> std::io::Result<()> {
        let Self { at, listener, runtime, session } = self;
        let (wishes, hears) = channel();
        let (tell, newest) = watch::channel(Arc::from("{}"));
        let run = std::thread::spawn(move || pace::go(session, &hears, &tell));
        let end = wishes.clone();
        let campaign = Arc::new(Underway::default());
        let (plans, underway) = (Arc::default(), Arc::clone(&campaign));
        let app = router(Shared { wishes, newest, at, campaign, plans });
        let served = runtime.block_on(async {
            tokio::select! {
                served = axum::serve(listener, app) => served,
                () = async { while !stop() { tokio::time::sleep(Duration::from_millis(250)).await; } } => Ok(()),
            }
        });
        // It may have ended by itself.
        let _ = end.send(Wish::End);
        underway.end();
        run.join().map_err(|_| std::io::Error::other("the simulation stopped by a fault of the program"))?;
        served
    }
}

fn router(shared: Shared) -> Router {
    Router::new()
        .route("/", get(|| text("text/html; charset=utf-8", include_str!("page/index.html"))))
        .route("/panel.css", get(|| text("text/css; charset=utf-8", include_str!("page/panel.css"))))
        .route("/panel.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/panel.js"))))
        .route("/drawing.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/drawing.js"))))
        .route("/order.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/order.js"))))
        .route("/records.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/records.js"))))
        .route("/campaign.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/campaign.js"))))
        .route("/odds.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/odds.js"))))
        .route("/trends.js", get(|| text("text/javascript; charset=utf-8", include_str!("page/trends.js"))))
        .route("/stream", get(stream))
        .route("/history", get(history))
        .route("/drawing", get(drawing))
        .route("/order", get(order))
        .route("/records", get(records))
        .route("/catalogue", get(catalogue))
        .route("/scenario.toml", get(written))
        .route("/lesson.json", get(result))
        .route("/do", post(obey))
        .route("/odds", post(odds))
        .route("/campaign", get(under_way).post(campaign))
        .route("/campaign.json", get(outcome_json))
        .route("/campaign.csv", get(outcome_csv))
        .layer(DefaultBodyLimit::max(LONGEST))
        .layer(middleware::from_fn_with_state(shared.clone(), guard))
        .with_state(shared)
}

async fn text(kind: &'static str, body: &'static str) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, kind)], body)
}

fn names(at: SocketAddr) -> [String; 2] {
    [at.to_string(), format!("localhost:{}", at.port())]
}

/// Host and origin, before anything else; headers that keep the page to itself, after it.
async fn guard(State(shared): State<Shared>, request: Request, next: Next) -> Response {
    let refused = refused(&request, shared.at);
    let mut answer = match refused {
        Some(refused) => refused,
        None => next.run(request).await,
    };
    let headers = answer.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    answer
}

/// What is not answered, whatever it asks.
fn refused(request: &Request, at: SocketAddr) -> Option<Response> {
    let text = |name| request.headers().get(name).and_then(|value: &HeaderValue| value.to_str().ok());
    let own = names(at);
    if !text(header::HOST).is_some_and(|host| own.iter().any(|one| one == host)) {
        let why = format!("this server answers to {} only", own.join(" and "));
        return Some(wrong(StatusCode::MISDIRECTED_REQUEST, &why));
    }
    let origin = request
        .headers()
        .get(header::ORIGIN)
        .is_none_or(|_| text(header::ORIGIN).is_some_and(|from| own.iter().any(|one| from == format!("http://{one}"))));
    let site = text(header::HeaderName::from_static("sec-fetch-site"));
    if !origin || !site.is_none_or(|site| matches!(site, "same-origin" | "none")) {
        return Some(wrong(StatusCode::FORBIDDEN, "asked for by another page"));
    }
    let long = request.uri().to_string().len() > LONGEST;
    long.then(|| wrong(StatusCode::URI_TOO_LONG, "the address is too long"))
}

fn wrong(code: StatusCode, why: &str) -> Response {
    (code, axum::Json(json!({ "wrong": why }))).into_response()
}

async fn stream(State(shared): State<Shared>) -> impl IntoResponse {
    let frames = WatchStream::new(shared.newest).map(|frame| Ok::<_, Infallible>(Event::default().data(&*frame)));
    Sse::new(frames).keep_alive(KeepAlive::default())
}

/// Asks the thread of the run.
async fn ask<T>(shared: &Shared, wish: impl FnOnce(oneshot::Sender<T>) -> Wish) -> Result<T, Response> {
    let (answer, hears) = oneshot::channel();
    let gone = |()| wrong(StatusCode::SERVICE_UNAVAILABLE, "the simulation has stopped");
    shared.wishes.send(wish(answer)).map_err(|_| gone(()))?;
    hears.await.map_err(|_| gone(()))
}

fn as_json(body: String) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], body).into_response()
}

#[derive(serde::Deserialize)]
struct From {
    #[serde(default)]
    from: usize,
}

async fn history(State(shared): State<Shared>, Query(From { from }): Query<From>) -> Response {
    ask(&shared, |answer| Wish::History(from, answer)).await.map_or_else(|wrong| wrong, as_json)
}

async fn drawing(State(shared): State<Shared>) -> Response {
    ask(&shared, Wish::Drawing).await.map_or_else(|wrong| wrong, as_json)
}

async fn order(State(shared): State<Shared>) -> Response {
    ask(&shared, Wish::Order).await.map_or_else(|wrong| wrong, as_json)
}

async fn records(State(shared): State<Shared>) -> Response {
    match ask(&shared, Wish::Records).await {
        Ok(Ok(text)) => as_json(text),
        Ok(Err(why)) => wrong(StatusCode::CONFLICT, &why),
        Err(gone) => gone,
    }
}

async fn written(State(shared): State<Shared>) -> Response {
    handed_over(ask(&shared, Wish::Written).await, "application/toml", "attachment; filename=\"played.toml\"")
}

async fn result(State(shared): State<Shared>) -> Response {
    handed_over(ask(&shared, Wish::Result).await, "application/json", "attachment; filename=\"lesson.json\"")
}

/// A file for the browser to keep.
fn handed_over(asked: Result<Result<String, String>, Response>, kind: &'static str, name: &'static str) -> Response {
    match asked {
        Ok(Ok(text)) => ([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, name)], text).into_response(),
        Ok(Err(why)) => wrong(StatusCode::CONFLICT, &why),
        Err(gone) => gone,
    }
}

/// Faults that can come in the middle of a run, shipped scenarios, and shipped lessons.
async fn catalogue() -> Response {
    let faults: Vec<_> = fault::injections()
        .filter(|one| one.begins == fault::Begins::AnyTime && !one.modes.is_empty())
        .map(|one| {
            let entry = one.entry();
            let modes: Vec<_> = one
                .modes
                .iter()
                .map(|mode| json!({ "name": mode.name, "acts": mode.acts, "severity": mode.severity.map(|is| is.text(is.usual_si())) }))
                .collect();
            json!({ "id": one.id.to_string(), "component": entry.component, "failure": entry.failure_mode, "tags": one.tags, "modes": modes })
        })
        .collect();
    let shipped = shipped::SHIPPED.iter().chain(shipped::QUESTIONS).chain(shipped::UPKEEP);
    let scenarios: Vec<&str> = shipped.map(|one| one.name).collect();
    let lessons: Vec<_> = lesson::LESSONS
        .iter()
        .filter_map(|(name, _)| lesson::shipped(name))
        .map(|one| json!({ "name": one.name, "title": one.title, "about": one.about, "minutes": one.minutes }))
        .collect();
    axum::Json(json!({ "faults": faults, "scenarios": scenarios, "lessons": lessons })).into_response()
}

/// What a page sends, or why it is not taken.
fn sent<T: serde::de::DeserializeOwned>(headers: &HeaderMap, body: &Bytes) -> Result<T, (StatusCode, String)> {
    // A form of another page cannot send this kind without asking first.
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("");
    if kind != "application/json" {
        let why = "content-type: application/json is wanted";
        return Err((StatusCode::UNSUPPORTED_MEDIA_TYPE, why.to_owned()));
    }
    serde_json::from_slice(body).map_err(|why| (StatusCode::BAD_REQUEST, format!("not understood: {why}")))
}

async fn odds(State(shared): State<Shared>, headers: HeaderMap, body: Bytes) -> Response {
    let question: Question = match sent(&headers, &body) {
        Ok(question) => question,
        Err((code, why)) => return wrong(code, &why),
    };
    match ask(&shared, |answer| Wish::Odds(question, answer)).await {
        Ok(Ok(text)) => as_json(text),
        Ok(Err(why)) => wrong(StatusCode::UNPROCESSABLE_ENTITY, &why),
        Err(gone) => gone,
    }
}

async fn campaign(State(shared): State<Shared>, headers: HeaderMap, body: Bytes) -> Response {
    let (row, faults, begins) = match sent(&headers, &body) {
        Ok(Wanted::Plan { row, faults }) => (row, faults, false),
        Ok(Wanted::Start { row, faults }) => (row, faults, true),
        Ok(Wanted::Stop) => return done(shared.campaign.stop().map(|()| json!({}))),
        Err((code, why)) => return wrong(code, &why),
    };
    let (start, altered) = match ask(&shared, Wish::AtHand).await {
        Ok(at_hand) => at_hand,
        Err(gone) => return gone,
    };
    let _turn = shared.plans.lock().await;
    let campaign = Arc::clone(&shared.campaign);
    let asked = tokio::task::spawn_blocking(move || campaign.asked(&start, &altered, (&row, &faults), begins));
    done(asked.await.unwrap_or_else(|_| Err("the plan stopped by a fault of the program".to_owned())))
}

fn done(asked: Result<serde_json::Value, String>) -> Response {
    asked.map_or_else(|why| wrong(StatusCode::UNPROCESSABLE_ENTITY, &why), |told| axum::Json(told).into_response())
}

async fn under_way(State(shared): State<Shared>) -> Response {
    axum::Json(shared.campaign.told()).into_response()
}

async fn outcome_json(State(shared): State<Shared>) -> Response {
    let text = shared.campaign.outcome().map(|one| one.json.clone());
    handed_over(Ok(text), "application/json", "attachment; filename=\"campaign.json\"")
}

async fn outcome_csv(State(shared): State<Shared>) -> Response {
    let text = shared.campaign.outcome().map(|one| one.csv.clone());
    handed_over(Ok(text), "text/csv; charset=utf-8", "attachment; filename=\"campaign.csv\"")
}

async fn obey(State(shared): State<Shared>, headers: HeaderMap, body: Bytes) -> Response {
    let asked: Asked = match sent(&headers, &body) {
        Ok(asked) => asked,
        Err((code, why)) => return wrong(code, &why),
    };
    match ask(&shared, |answer| Wish::Do(asked, answer)).await {
        Ok(Ok(())) => axum::Json(json!({})).into_response(),
        Ok(Err(why)) => wrong(StatusCode::UNPROCESSABLE_ENTITY, &why),
        Err(gone) => gone,
    }
}
