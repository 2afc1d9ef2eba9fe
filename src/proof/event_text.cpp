#include "proof/event_text.hpp"

#include "motion/work_offset.hpp"

#include <fmt/format.h>

namespace restep::proof {

std::string plain_number(double value, int decimals) {
  if (!motion::is_known(value)) return "?";
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    while (text.back() == '0')
      text.pop_back();
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

namespace {

std::string coordinates(motion::Vec3 const& p) {
  std::string text;
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(p[axis])) text += fmt::format(" {}{}", "XYZ"[axis], plain_number(p[axis], 5));
  }
  return text.empty() ? " an unknown point" : text;
}

std::string feed(double value, motion::FeedMode mode) {
  switch (mode) {
  case motion::FeedMode::inverse_time: return fmt::format(" at inverse time F{}", plain_number(value, 4));
  case motion::FeedMode::per_revolution: return fmt::format(" at F{} per revolution", plain_number(value, 4));
  case motion::FeedMode::per_minute: break;
  }
  return fmt::format(" F{}", plain_number(value, 3));
}

std::string code(int tenths) {
  return tenths % 10 == 0 ? fmt::format("G{}", tenths / 10) : fmt::format("G{}.{}", tenths / 10, tenths % 10);
}

struct Describe {
  std::string operator()(motion::Motion const& m) const {
    switch (m.path) {
    case motion::PathKind::rapid: return "G0 rapid to" + coordinates(m.to);
    case motion::PathKind::line: return "G1 line to" + coordinates(m.to) + feed(m.feed, m.feed_mode);
    case motion::PathKind::arc_cw:
    case motion::PathKind::arc_ccw: break;
    }
    return fmt::format("{} arc to{} about{}{}",
                       m.path == motion::PathKind::arc_cw ? "G2 clockwise" : "G3 counter-clockwise",
                       coordinates(m.to), coordinates(m.centre), feed(m.feed, m.feed_mode));
  }
  std::string operator()(motion::Cycle const& c) const {
    return fmt::format("{} cycle at{} R{}{}", code(c.code), coordinates(c.hole), plain_number(c.retract, 5),
                       feed(c.feed, c.feed_mode));
  }
  std::string operator()(motion::Home const& h) const {
    std::string text = h.second ? "G30 home in" : "G28 home in";
    for (int axis = 0; axis < 3; ++axis) {
      if ((h.axes & (1U << axis)) != 0) text += fmt::format(" {}", "XYZ"[axis]);
    }
    return text + " through" + coordinates(h.via);
  }
  std::string operator()(motion::MachineMove const& m) const {
    return "G53 move in machine coordinates to" + coordinates(m.to);
  }
  std::string operator()(motion::Probe const& p) const {
    return code(p.code) + " probe towards" + coordinates(p.to);
  }
  std::string operator()(motion::Dwell const& d) const {
    return fmt::format("G4 dwell of {} s", plain_number(d.seconds, 4));
  }
  std::string operator()(motion::SpindleTurn const& s) const {
    switch (s.rotation) {
    case motion::Rotation::clockwise: return "M3 spindle clockwise";
    case motion::Rotation::counter_clockwise: return "M4 spindle counter-clockwise";
    case motion::Rotation::stop: break;
    }
    return "M5 spindle stop";
  }
  std::string operator()(motion::SpindleSpeed const& s) const {
    return "spindle speed S" + plain_number(s.rpm, 3);
  }
  std::string operator()(motion::ToolSelect const& t) const {
    return fmt::format("tool selection T{}", t.tool);
  }
  std::string operator()(motion::ToolChange const& t) const {
    return fmt::format("M6 change to tool {}", t.tool);
  }
  std::string operator()(motion::Coolant const& c) const {
    switch (c.kind) {
    case motion::CoolantKind::mist: return "M7 mist coolant";
    case motion::CoolantKind::flood: return "M8 flood coolant";
    case motion::CoolantKind::off: break;
    }
    return "M9 coolant off";
  }
  std::string operator()(motion::Stop const& s) const {
    switch (s.kind) {
    case motion::StopKind::program: return "M0 stop";
    case motion::StopKind::optional: return "M1 optional stop";
    case motion::StopKind::pallet: return "M60 pallet stop";
    case motion::StopKind::end: return "M2 program end";
    case motion::StopKind::end_rewind: break;
    }
    return "M30 program end";
  }
  std::string operator()(motion::Override const& o) const {
    return o.enabled ? "M48 overrides on" : "M49 overrides off";
  }
  std::string operator()(motion::WorkOffset const& w) const {
    return motion::work_offset_name(w.system) + " work offset";
  }
  std::string operator()(motion::LengthOffset const& l) const {
    return l.active ? fmt::format("G43 length offset H{}", l.index) : "G49 length offset off";
  }
  std::string operator()(motion::PathControl const& p) const {
    switch (p.mode) {
    case motion::PathMode::exact_path: return "G61 exact path";
    case motion::PathMode::exact_stop: return "G61.1 exact stop";
    case motion::PathMode::continuous: break;
    }
    return p.tolerance > 0 ? "G64 continuous path P" + plain_number(p.tolerance, 5) : "G64 continuous path";
  }
  std::string operator()(motion::Compensation const& c) const {
    switch (c.side) {
    case motion::Side::off: return "G40 radius compensation off";
    case motion::Side::left: return "G41 radius compensation left";
    case motion::Side::right: break;
    }
    return "G42 radius compensation right";
  }
  std::string operator()(motion::OffsetChange const& o) const {
    return code(o.code) + " coordinate offset" + (is_known_any(o.values) ? coordinates(o.values) : "");
  }
  std::string operator()(motion::SetOrigin const& s) const {
    return fmt::format("G10 L{} P{} origin{}", s.here ? 20 : 2, s.system, coordinates(s.origin));
  }
  std::string operator()(motion::Comment const&) const { return "a comment"; }
  std::string operator()(motion::Carried const& c) const { return fmt::format("\"{}\"", c.text); }
  std::string operator()(motion::Layout const&) const { return "a block without effect"; }

private:
  static bool is_known_any(motion::Vec3 const& p) {
    return motion::is_known(p.x) || motion::is_known(p.y) || motion::is_known(p.z);
  }
};

} // namespace

std::string describe(motion::Event const& event) {
  return std::visit(Describe{}, event);
}

} // namespace restep::proof
