#include "finish/way_in.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using geometry::Vec2;
using geometry::Vec3;
using motion::Motion;
using motion::Step;

constexpr double same_column = 1e-6;    // mm
constexpr std::size_t longest_way = 64; // motions; more are no lead but a cut of their own

bool plumb(Motion const& m) {
  return !motion::is_arc(m) && std::abs(m.from.x - m.to.x) <= same_column &&
         std::abs(m.from.y - m.to.y) <= same_column;
}
bool straight_down(Motion const& m) {
  return plumb(m) && m.to.z < m.from.z - same_column;
}
bool straight_up(Motion const& m) {
  return plumb(m) && m.to.z > m.from.z + same_column;
}

// Why a motion cannot be part of the way between the column and the contour; empty when it can.
std::string no_lead(Step const& step, Motion const& m) {
  if (!motion::is_known(m.from) || !motion::is_known(m.to) || m.compensated || m.rotary)
    return "a move on the way in or out is not fully known";
  if (step.optional) return "a move on the way in or out is under block delete";
  if (!motion::is_cutting(m)) return "a rapid goes sideways on the way in or out";
  if (m.feed_mode == motion::FeedMode::inverse_time) return "its feeds are inverse time (G93)";
  return {};
}

Step moved(Step step, Vec3 const& shift) {
  Motion& m = *motion::motion_of(step);
  m.from = m.from + shift;
  m.to = m.to + shift;
  if (motion::is_arc(m)) m.centre = m.centre + shift;
  step.generated = step.touched = true;
  return step;
}

// A straight feed in the manner (feed, words) of another cut.
Step across(Step model, Vec3 const& from, Vec3 const& to) {
  Motion& m = *motion::motion_of(model);
  m.path = motion::PathKind::line;
  m.from = from;
  m.to = to;
  m.centre = {};
  model.generated = model.touched = true;
  return model;
}

// The way down to the first contour: steps [column, lead) go straight down, [lead, contour) lead in.
struct Descent {
  std::size_t column = 0, lead = 0;
};

tl::expected<Descent, std::string> descent_to(std::span<Step const> operation, std::size_t contour,
                                              std::size_t free_from) {
  constexpr char const* unknown = "where the tool comes down to its first level is not known";
  Descent way{0, contour};
  std::size_t motions = 0;
  for (;; --way.lead) {
    if (way.lead == free_from) return tl::unexpected(std::string(unknown));
    Step const& step = operation[way.lead - 1];
    Motion const* m = motion::motion_of(step);
    if (m == nullptr) continue;
    if (straight_down(*m) && !m->compensated && !m->rotary && !step.optional) break;
    if (std::string trouble = no_lead(step, *m); !trouble.empty()) return tl::unexpected(std::move(trouble));
    if (straight_up(*m) || ++motions > longest_way) return tl::unexpected(std::string(unknown));
  }
  Vec2 const at = geometry::xy(motion::motion_of(operation[way.lead - 1])->to);
  way.column = way.lead;
  for (std::size_t i = way.lead; i > free_from; --i) {
    Motion const* m = motion::motion_of(operation[i - 1]);
    if (m == nullptr) continue;
    if (!straight_down(*m) || distance(geometry::xy(m->to), at) > same_column || operation[i - 1].optional)
      break;
    way.column = i - 1;
  }
  return way;
}

} // namespace

double clear_height(std::span<Step const> operation, Stack const& stack, std::size_t free_from) {
  auto const way = descent_to(operation, stack.first_step(), free_from);
  double height = std::numeric_limits<double>::infinity();
  if (!way) return height;
  for (std::size_t i = way->column; i < way->lead; ++i) {
    Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) continue;
    height = m->from.z;
    if (motion::is_cutting(*m)) break;
  }
  return height;
}

tl::expected<Way, std::string> way_in(std::span<Step const> operation, Stack const& stack,
                                      std::size_t free_from, Vec3 const& start) {
  std::size_t const contour = stack.first_step();
  auto const found = descent_to(operation, contour, free_from);
  if (!found) return tl::unexpected(found.error());
  Vec3 const shift = start - motion::motion_of(operation[contour])->from;
  Vec3 const bottom = motion::motion_of(operation[found->lead - 1])->to;
  double const height = bottom.z + shift.z;
  if (motion::motion_of(operation[found->column])->from.z < height + same_column)
    return tl::unexpected(fmt::format("the program comes down beside it from Z{:.4f} only, and the new way "
                                      "begins at Z{:.4f}",
                                      motion::motion_of(operation[found->column])->from.z, height));
  Way way;
  bool reached = false;
  for (std::size_t i = found->column; i < found->lead; ++i) {
    Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr || reached) {
      if (m == nullptr && reached) way.steps.push_back(operation[i]);
      continue;
    }
    if (m->to.z > height + same_column) continue; // as it was
    reached = true;
    way.first = i;
    if (m->from.z <= height + same_column) continue;
    Step shortened = operation[i];
    motion::motion_of(shortened)->to.z = height;
    shortened.touched = true;
    way.steps.push_back(shortened);
  }
  way.last = contour - 1;
  Step const* model = &operation[contour];
  for (std::size_t i = contour; i > found->lead; --i)
    if (motion::motion_of(operation[i - 1]) != nullptr) model = &operation[i - 1];
  if (std::hypot(shift.x, shift.y) > same_column)
    way.steps.push_back(across(*model, geometry::at_height(geometry::xy(bottom), height),
                               {bottom.x + shift.x, bottom.y + shift.y, height}));
  for (std::size_t i = found->lead; i < contour; ++i)
    way.steps.push_back(motion::motion_of(operation[i]) != nullptr ? moved(operation[i], shift)
                                                                   : operation[i]);
  return way;
}

tl::expected<Way, std::string> way_out(std::span<Step const> operation, Stack const& stack,
                                       std::size_t free_to, Vec3 const& end) {
  constexpr char const* unknown = "where the tool goes up from its last level is not known";
  std::size_t const contour = stack.last_step();
  Vec3 const shift = end - motion::motion_of(operation[contour])->to;
  Way way;
  way.first = contour + 1;
  Step const* model = &operation[contour];
  std::size_t motions = 0;
  std::size_t i = contour + 1;
  for (;; ++i) {
    if (i >= free_to) return tl::unexpected(std::string(unknown));
    Step const& step = operation[i];
    Motion const* m = motion::motion_of(step);
    if (m == nullptr) {
      way.steps.push_back(step);
      continue;
    }
    if (straight_up(*m) && !m->compensated && !m->rotary && !step.optional) break;
    if (std::string trouble = no_lead(step, *m); !trouble.empty()) return tl::unexpected(std::move(trouble));
    if (straight_down(*m) || ++motions > longest_way) return tl::unexpected(std::string(unknown));
    way.steps.push_back(moved(step, shift));
    model = &step;
  }
  Vec3 const bottom = motion::motion_of(operation[i])->from;
  double const height = bottom.z + shift.z;
  // What the program itself goes up to below the new height is no move any more.
  for (;; ++i) {
    if (i >= free_to) return tl::unexpected(std::string(unknown));
    Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) {
      way.steps.push_back(operation[i]);
      continue;
    }
    if (!straight_up(*m) || operation[i].optional)
      return tl::unexpected(fmt::format("the program goes up beside it to Z{:.4f} only, and the new way "
                                        "ends at Z{:.4f}",
                                        m->from.z, height));
    if (m->to.z > height + same_column) break;
  }
  if (std::hypot(shift.x, shift.y) > same_column)
    way.steps.push_back(across(*model, {bottom.x + shift.x, bottom.y + shift.y, height},
                               geometry::at_height(geometry::xy(bottom), height)));
  Step up = operation[i];
  motion::motion_of(up)->from.z = height;
  up.touched = true;
  way.steps.push_back(up);
  way.last = i;
  return way;
}

tl::expected<Way, std::string> ways_to(std::span<Step const> operation, Stack const& stack, FreeSteps free,
                                       std::vector<Step> pass, bool first_moved, bool last_moved) {
  Way whole{stack.first_step(), stack.last_step(), std::move(pass)};
  if (first_moved) {
    auto in = way_in(operation, stack, free.from, motion::motion_of(whole.steps.front())->from);
    if (!in) return in;
    whole.first = in->first;
    whole.steps.insert(whole.steps.begin(), in->steps.begin(), in->steps.end());
  }
  if (last_moved) {
    auto out = way_out(operation, stack, free.to, motion::motion_of(whole.steps.back())->to);
    if (!out) return out;
    whole.last = out->last;
    whole.steps.insert(whole.steps.end(), out->steps.begin(), out->steps.end());
  }
  return whole;
}

} // namespace restep::finish
