//! The demo's wheel on the screen: press a button with the pointer, and let go.

use egui::{Color32, Pos2, Rect, Sense, Shape, Stroke, Ui, Vec2, pos2, vec2};

use crate::app::learn::demo_places;
use crate::app::{Action, LinkAction, Model};
use crate::bands::Touch;
use crate::link::DemoTouch;
use crate::view::theme::{Theme, stroke};
use crate::view::widgets::bracket;
use crate::view::widgets::focus;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::plate;

/// How high the wheel stands, its bracket included, in points.
pub(super) const HEIGHT: f32 = 196.0;

/// How long a press by keyboard or screen reader is held, in milliseconds.
const HELD_MS: f64 = 1_300.0;

/// The hand on the demo's wheel.
#[derive(Debug, Default)]
pub(super) struct Hand {
    /// What is pressed, from 0.
    pressed: Option<usize>,
    /// When it is let go by itself.
    until_ms: Option<f64>,
}

/// Where the demo van's buttons are on a wheel of radius 1, in the demo's order.
const PLACES: [(f32, f32); 7] =
    [(-0.69, -0.16), (-0.69, 0.12), (0.69, -0.16), (0.69, 0.12), (0.44, -0.16), (0.44, 0.12), (-0.44, -0.02)];

/// Draws the wheel into `rect` and presses what is pressed on it.
pub(super) fn wheel_ui(
    ui: &mut Ui,
    rect: Rect,
    model: &Model,
    hand: &mut Hand,
    touch: Touch,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    bracket::bracket(ui.painter(), &theme, rect.x_range(), rect.top() + 4.0, "Press here", "demo");
    let radius = ((rect.height() - 18.0) / 2.0).min(rect.width() / 2.0) - 2.0;
    let centre = pos2(rect.center().x, f32::midpoint(rect.top() + 18.0, rect.bottom()));
    rim(ui, &theme, centre, radius);
    let Some(project) = model.project() else { return };
    let mut down = None;
    let places = demo_places(project);
    for (index, (button, number)) in project.wheel.buttons.iter().zip(places).enumerate() {
        // On the demo's own wheel, which doesn't change with the list.
        let Some((number, place)) = number.and_then(|number| Some((number, *PLACES.get(number)?))) else {
            continue;
        };
        let at = centre + vec2(place.0, place.1) * radius;
        let size = (radius * 0.115).max(9.0);
        let target = Rect::from_center_size(at, Vec2::splat(size * 2.5));
        let response = ui.interact(target, ui.scope_id().with(("press", index)), Sense::click_and_drag());
        let name = format!("Press {}", button.name);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &name));
        let held = hand.pressed == Some(number);
        if held {
            ui.painter().circle_filled(at, size * 1.5, theme.press);
        }
        plate::plate(ui.painter(), &theme, index, at, size, plate::PlateMode::Measured);
        focus::ring(ui.painter(), &theme, &response, target);
        if response.is_pointer_button_down_on() {
            down = Some(number);
        } else if response.clicked() && hand.pressed.is_none() {
            // Pressed by keyboard or by name: held for a while, then let go.
            hand.until_ms = Some(model.now.ms + HELD_MS);
            down = Some(number);
        }
        response.on_hover_text(&button.name);
    }
    if hand.until_ms.is_some_and(|until| model.now.ms < until) {
        down = down.or(hand.pressed);
    } else {
        hand.until_ms = None;
    }
    if down != hand.pressed {
        hand.pressed = down;
        let touch = match down {
            Some(button) => DemoTouch::Press { button, touch },
            None => DemoTouch::Release,
        };
        actions.push(Action::Link(LinkAction::Touch(touch)));
    }
    if hand.pressed.is_some() {
        ui.ctx().request_repaint();
    }
}

/// Rim, spokes, and the hub, hatched because nothing there may be touched.
fn rim(ui: &Ui, theme: &Theme, centre: Pos2, radius: f32) {
    let p = ui.painter();
    let line = Stroke::new(stroke::NODE, theme.ink);
    p.circle(centre, radius, theme.raise, line);
    p.circle(centre, radius * 0.86, theme.face, line);
    let spoke = |points: &[(f32, f32)], fill: Color32| {
        let points: Vec<_> = points.iter().map(|&(x, y)| centre + vec2(x, y) * radius).collect();
        p.add(Shape::convex_polygon(points, fill, line));
    };
    for side in [-1.0, 1.0] {
        spoke(
            &[(side * 0.28, -0.26), (side * 0.82, -0.30), (side * 0.82, 0.25), (side * 0.28, 0.22)],
            theme.raise,
        );
    }
    spoke(&[(-0.16, 0.32), (-0.12, 0.84), (0.12, 0.84), (0.16, 0.32)], theme.raise);
    let hub = Rect::from_center_size(centre + vec2(0.0, 0.02 * radius), vec2(0.54, 0.58) * radius);
    p.rect_filled(hub, 0, theme.alarm_face);
    hatch::alarm(p, theme, hub, Hatch::REFUSED);
    p.rect_stroke(hub, 0, Stroke::new(1.5, theme.alarm), egui::StrokeKind::Inside);
}
