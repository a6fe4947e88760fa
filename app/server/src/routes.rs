//! Every URL on one screen.

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate};

use crate::captions_form::MOST_OF_A_FORM;
use crate::error::{PageError, as_asked};
use crate::login::{self, invitation};
use crate::pages::settings::{empty, people};
use crate::pages::student::{development, edit, report};
use crate::pages::{
    add_round, classes, group, layers, live, roster, round, rounds, settings, student, students,
    today,
};
use crate::state::App;
use crate::{assets, media, safety, uploads};

/// Bytes of a form; routes that take files have limits of their own.
const LARGEST_FORM: usize = 64 * 1024;

/// The whole app as a service.
pub(crate) fn router(app: App) -> Router {
    let pages = Router::new()
        .route("/", get(today::show))
        .route("/students", get(students::show))
        .route("/students/undo", post(students::undo))
        .route("/students/redo", post(students::redo))
        .route("/students/add", get(edit::show_add).post(edit::add))
        .route("/students/belt/{belt}", get(group::show_belt))
        .route("/layers", get(layers::show))
        .route("/students/{id}", get(student::show).post(edit::change))
        .route("/students/{id}/talked", post(development::talked))
        .route("/students/{id}/talks/{talk}/delete", post(development::delete_talk))
        .route("/students/{id}/goals", post(development::add_goal))
        .route("/students/{id}/goals/{goal}/reached", post(development::reach_goal))
        .route("/students/{id}/goals/{goal}/delete", post(development::delete_goal))
        .route("/students/{id}/report", get(report::show).post(report::keep))
        .route("/students/{id}/report/file", get(report::show_file))
        .route("/students/{id}/report/undo", post(report::undo))
        .route("/students/{id}/report/redo", post(report::redo))
        .route("/students/{id}/report/{message}/delete", post(report::delete))
        .route("/students/{id}/undo", post(development::undo))
        .route("/students/{id}/redo", post(development::redo))
        .route("/students/{id}/edit", get(edit::show_edit))
        .route("/students/{id}/left", post(edit::mark_left))
        .route("/students/{id}/delete", post(edit::delete))
        .route("/students.csv", get(roster::save))
        .route(
            "/students/import",
            get(roster::show)
                .post(roster::import)
                .layer(DefaultBodyLimit::max(roster::LARGEST_LIST)),
        )
        .route("/classes", get(classes::list))
        .route("/classes/undo", post(classes::undo))
        .route("/classes/redo", post(classes::redo))
        .route("/classes/add", get(classes::show_add).post(classes::add))
        .route("/classes/{id}", get(classes::show).post(classes::change))
        .route("/classes/{id}/edit", get(classes::show_edit))
        .route("/classes/{id}/delete", post(classes::delete))
        .route("/settings", get(settings::show).post(settings::rename))
        .route("/settings/words/undo", post(settings::undo))
        .route("/settings/words/redo", post(settings::redo))
        .route("/settings/words/{id}/forget", post(settings::forget))
        .route("/settings/empty", get(empty::show).post(empty::start))
        .route("/settings/people", get(people::show).post(people::make_invitation))
        .route("/settings/people/{id}/revoke", post(people::revoke))
        .route("/settings/people/invitations/{id}/withdraw", post(people::withdraw))
        .route("/login", get(login::show).post(login::enter))
        .route("/logout", post(login::leave))
        .route("/welcome/{token}", get(invitation::show).post(invitation::accept))
        .route("/rounds", get(rounds::show))
        .route("/rounds/add", get(add_round::show).post(add_round::add).layer(captions_size()))
        .route("/rounds/live", get(live::choose).post(live::begin))
        .route("/rounds/{id}/live", get(live::show).post(live::press))
        .route("/rounds/{id}/media", post(media::of_round))
        .route("/rounds/{id}/captions", post(media::captions_of_round).layer(captions_size()))
        .route("/uploads", post(uploads::begin))
        .route("/rounds/{id}", get(round::show))
        .route("/rounds/{id}/answer", post(round::answers::answer))
        .route("/rounds/{id}/pass", post(round::answers::pass))
        .route("/rounds/{id}/undo", post(round::answers::undo))
        .route("/rounds/{id}/redo", post(round::answers::redo))
        .route("/rounds/{id}/confirm", post(round::answers::confirm))
        .route("/rounds/{id}/spell", post(round::entries::spell))
        .route("/rounds/{id}/retell", post(round::entries::retell))
        .route("/rounds/{id}/border", post(round::entries::border))
        .route("/rounds/{id}/border/drop", post(round::entries::drop_change))
        .route("/rounds/{id}/event", post(round::entries::event))
        .route("/rounds/{id}/event/delete", post(round::entries::delete_event))
        .route("/rounds/{id}/remark", post(round::entries::remark))
        .route("/rounds/{id}/remark/delete", post(round::entries::delete_remark))
        .route("/rounds/{id}/details", post(round::details::details))
        .route("/rounds/{id}/delete", post(round::details::delete))
        .route("/rounds/{id}/word", post(round::details::word))
        .route("/rounds/{id}/word/forget", post(round::details::forget_word))
        .route("/assets/{version}/{name}", get(assets::file))
        .fallback(async || PageError::NoPage);
    // Recordings take as long as they take.
    let recordings = Router::new()
        .route("/uploads/{id}", get(uploads::received).put(uploads::piece).delete(uploads::give_up))
        .route("/uploads/{id}/finish", post(uploads::finish))
        .route("/media/{hash}", get(media::file));
    pages
        .layer(from_fn(safety::in_time))
        .merge(recordings)
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(from_fn_with_state(app.clone(), as_asked))
        .layer(from_fn_with_state(app.clone(), safety::own_pages_only))
        .layer(from_fn(safety::headers))
        .layer(CompressionLayer::new().compress_when(not_recordings()))
        .with_state(app)
}

/// Forms with captions are larger than others.
fn captions_size() -> DefaultBodyLimit {
    DefaultBodyLimit::max(MOST_OF_A_FORM)
}

/// Recordings are compressed already, and a player asks for parts of them as they are.
fn not_recordings() -> impl Predicate {
    DefaultPredicate::new()
        .and(NotForContentType::const_new("video/"))
        .and(NotForContentType::const_new("audio/"))
}
