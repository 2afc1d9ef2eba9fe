#include "finish/assemble.hpp"

#include "finish/link.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

using motion::Step;

std::vector<Step> motions_between(std::span<Step const> operation, std::size_t after, std::size_t before) {
  std::vector<Step> steps;
  for (std::size_t i = after + 1; i < before; ++i)
    if (motion::motion_of(operation[i]) != nullptr) steps.push_back(operation[i]);
  return steps;
}

class Assembler {
public:
  Assembler(std::span<Step const> operation, Stack const& stack, Offsets const& offsets,
            RapidRule const* rule)
      : operation_(operation)
      , stack_(stack)
      , offsets_(offsets)
      , rule_(rule) {
    for (Level const& level : stack.levels) {
      order_turns_ = order_turns_ || level.from_the_last;
      contours_turn_ = contours_turn_ || level.contours.back().reversed;
    }
  }

  // Links within a level (between islands), from one level to the next, and from one group to the next.
  std::string learn_links(double tolerance) {
    std::size_t const contours = stack_.levels.front().contours.size();
    for (std::size_t c = 0; c + 1 < contours; ++c) {
      Samples samples;
      for (std::size_t k = 0; k < stack_.levels.size(); ++k) {
        std::vector<Contour> const& cut = stack_.levels[k].contours;
        bool const against = stack_.levels[k].from_the_last;
        take_sample(samples, k, cut[against ? c + 1 : c], k, cut[against ? c : c + 1]);
      }
      if (std::string trouble = learn(std::move(samples), tolerance); !trouble.empty()) return trouble;
    }
    Samples within, between;
    for (std::size_t k = 0; k < stack_.levels.size(); ++k)
      if (auto const next = stack_.cut_after(k))
        take_sample(begins_group(*next) ? between : within, k, stack_.levels[k].last_cut(), *next,
                    stack_.levels[*next].first_cut());
    if (std::string trouble = learn(std::move(within), tolerance); !trouble.empty()) return trouble;
    return learn(std::move(between), tolerance);
  }

  // About as many steps will come: a pass of a million is not to be moved each time it outgrows its place.
  void expect(std::vector<std::vector<PlannedLevel>> const& groups) {
    std::size_t steps = 0;
    for (std::vector<PlannedLevel> const& group : groups)
      for (PlannedLevel const& level : group) {
        if (std::size_t const* k = std::get_if<std::size_t>(&level))
          steps += stack_.levels[*k].last_cut().last_step - stack_.levels[*k].first_cut().first_step;
        else
          for (ShapedContour const& shaped : std::get<ShapedLevel>(level).contours)
            steps += shaped.contour.segments.size();
        steps += about_a_link;
      }
    out_.reserve(steps);
  }

  // Level k of the program with everything between its first and last contour.
  void append_own_level(std::size_t k) {
    Level const& level = stack_.levels[k];
    Contour const& last = level.last_cut();
    append_own(level.first_cut().first_step, last.last_step);
    at_ = {end_of(last), level.z, offsets_.d[k], last.direction_at_end()};
    turned_ = level.turned();
  }

  // From level k of the program to the one that it cuts next.
  void append_own_link(std::size_t k) {
    append_own(stack_.levels[k].last_cut().last_step + 1,
               stack_.levels[*stack_.cut_after(k)].first_cut().first_step - 1);
  }

  // From the last contour of the level before to level k of the program.
  std::string append_link_to_own(std::size_t k, bool new_group) {
    Contour const& first = stack_.levels[k].first_cut();
    return append_link(stack_.levels[k].contours.size() - (new_group ? 0 : 1),
                       {start_of(first), first.z, offsets_.d[k], first.direction_at_start()});
  }

  // `first`: nothing comes before it.
  std::string append_new_level(ShapedLevel const& shaped, bool turned, bool new_group, bool first) {
    double const z = shaped.tip.y;
    std::size_t const contours = shaped.contours.size();
    bool const from_the_last = turned && order_turns_;
    for (std::size_t i = 0; i < contours; ++i) {
      std::size_t const c = from_the_last ? contours - 1 - i : i;
      Cut const cut = cut_of(shaped.contours[c], turned && contours_turn_);
      if (i > 0 || !first) {
        std::string trouble = append_link(i > 0       ? (from_the_last ? c : c - 1)
                                          : new_group ? contours
                                                      : contours - 1,
                                          {cut.elements.front().from, z, shaped.tip.x, cut.start_direction});
        if (!trouble.empty()) return trouble;
      }
      for (Segment const& element : cut.elements)
        append_element(element, z);
      at_ = {cut.elements.back().to, z, shaped.tip.x, cut.end_direction};
      turned_ = turned;
    }
    return {};
  }

private:
  static constexpr std::size_t about_a_link = 8; // steps

  // By whether the level it comes from is turned: where the direction or the order alternates there are two
  // kinds of links, one at either end.
  using Samples = std::array<std::vector<LinkSample>, 2>;

  bool begins_group(std::size_t k) const {
    return std::any_of(stack_.groups.begin(), stack_.groups.end(),
                       [&](std::vector<std::size_t> const& group) { return group.front() == k; });
  }

  // The link from a contour of level k to one of level `to_k`.
  void take_sample(Samples& samples, std::size_t k, Contour const& from, std::size_t to_k,
                   Contour const& to) const {
    samples[stack_.levels[k].turned() ? 1 : 0].push_back(
        {{end_of(from), from.z, offsets_.d[k], from.direction_at_end()},
         {start_of(to), to.z, offsets_.d[to_k], to.direction_at_start()},
         motions_between(operation_, from.last_step, to.first_step)});
  }

  std::string learn(Samples samples, double tolerance) {
    links_.emplace_back();
    for (std::size_t i = 0; i < samples.size(); ++i) {
      if (samples[i].empty()) continue;
      auto law = LinkLaw::fit(std::move(samples[i]), tolerance);
      if (!law) return law.error();
      links_.back()[i] = std::move(*law);
    }
    return {};
  }

  // Where the program's own blocks begin and end a contour, to the last digit.
  Vec2 start_of(Contour const& contour) const {
    return geometry::xy(motion::motion_of(operation_[contour.first_step])->from);
  }
  Vec2 end_of(Contour const& contour) const {
    return geometry::xy(motion::motion_of(operation_[contour.last_step])->to);
  }

  // The elements of a new contour in the order they are cut, on written points.
  struct Cut {
    std::vector<Segment> elements;
    Vec2 start_direction{}, end_direction{};
  };

  static Cut cut_of(ShapedContour const& shaped, bool reversed) {
    Cut cut{{}, shaped.start_direction, shaped.end_direction};
    Contour const& contour = shaped.contour;
    std::size_t const n = contour.segments.size();
    std::size_t const first = contour.closed ? contour.start_element : 0;
    for (std::size_t i = 0; i < n; ++i)
      cut.elements.push_back(contour.segments[(first + i) % n]);
    if (contour.closed && contour.start_share > 0) {
      Segment tail = cut.elements.front();
      cut.elements.front().from = shaped.start;
      tail.to = shaped.start;
      cut.elements.push_back(tail);
    }
    if (reversed) turn_round(cut.elements);
    // The directions are those of the level it was shaped from, which may be cut the other way.
    if (contour.reversed != reversed) {
      std::swap(cut.start_direction, cut.end_direction);
      cut.start_direction = -cut.start_direction;
      cut.end_direction = -cut.end_direction;
    }
    return cut;
  }

  std::string append_link(std::size_t c, Station const& next) {
    auto const& law = links_[c][turned_ ? 1 : 0];
    if (!law) return "the program has no link of the kind that the new levels need";
    auto steps = law->make(at_, next);
    if (!steps) return steps.error();
    if (rule_ != nullptr && std::max(at_.z, next.z) > rule_->above && low_rapid(*steps, next))
      return "a rapid on the way from level to level would go where nothing has been cut";
    out_.insert(out_.end(), steps->begin(), steps->end());
    return {};
  }

  bool low_rapid(std::vector<Step> const& link, Station const& next) const {
    constexpr double same = 1e-6; // mm
    bool const loops = stack_.levels.front().contours.front().closed;
    return std::any_of(link.begin(), link.end(), [&](Step const& step) {
      motion::Motion const& m = *motion::motion_of(step);
      Vec2 const from = geometry::xy(m.from), to = geometry::xy(m.to);
      if (motion::is_cutting(m) || distance(from, to) <= same) return false;
      double const low = std::min(m.from.z, m.to.z);
      if (low >= rule_->clear - same) return false;
      return !loops || low <= at_.z + same || distance(from, at_.at) > rule_->reach ||
             distance(to, next.at) > rule_->reach;
    });
  }

  void append_own(std::size_t first, std::size_t last) {
    for (std::size_t i = first; i <= last; ++i)
      out_.push_back(operation_[i]);
  }

  void append_element(Segment const& element, double z) {
    Step step = operation_[element.step];
    motion::Motion& m = *motion::motion_of(step);
    // The element may be cut the other way than the one it was shaped from.
    bool const against = element.arc
                             ? element.ccw != (m.path == motion::PathKind::arc_ccw)
                             : dot(geometry::xy(m.to) - geometry::xy(m.from), element.to - element.from) < 0;
    if (against) m.wall = other(m.wall);
    m.from = geometry::at_height(element.from, z);
    m.to = geometry::at_height(element.to, z);
    m.path = !element.arc  ? motion::PathKind::line
             : element.ccw ? motion::PathKind::arc_ccw
                           : motion::PathKind::arc_cw;
    m.plane = motion::Plane::xy;
    if (element.arc) m.centre = geometry::at_height(element.centre, z);
    step.generated = true;
    step.touched = true;
    out_.push_back(step);
  }

  std::span<Step const> operation_;
  Stack const& stack_;
  Offsets const& offsets_;
  RapidRule const* rule_;
  bool order_turns_ = false, contours_turn_ = false; ///< what is different in a level that is turned
  // [c][whether the level it comes from is turned]: from contour c to the next one; the last to the next
  // level's first; one more to the first of the next group.
  std::vector<std::array<std::optional<LinkLaw>, 2>> links_;
  Station at_;
  bool turned_ = false;
  std::vector<Step> out_;

public:
  std::vector<Step> take() { return std::move(out_); }
};

} // namespace

tl::expected<std::vector<Step>, std::string> assemble(std::span<Step const> operation, Stack const& stack,
                                                      Offsets const& offsets,
                                                      std::vector<std::vector<PlannedLevel>> const& groups,
                                                      double resolution, RapidRule const* rule) {
  Assembler assembler(operation, stack, offsets, rule);
  // A point of a link and the place it belongs to are both on the program's digits.
  double const own =
      resolution_of(operation.subspan(stack.first_step(), stack.last_step() + 1 - stack.first_step()));
  if (std::string trouble = assembler.learn_links(std::max({2 * resolution, 2.5 * own, 0.0005}));
      !trouble.empty())
    return tl::unexpected(std::move(trouble));
  assembler.expect(groups);
  bool const alternating = stack.alternates();
  bool turned = false;
  constexpr std::size_t none = ~std::size_t{0};
  std::size_t previous_own = none;
  bool first = true;
  for (std::vector<PlannedLevel> const& group : groups)
    for (PlannedLevel const& level : group) {
      bool const new_group = !first && &level == &group.front();
      std::string trouble;
      if (std::size_t const* k = std::get_if<std::size_t>(&level)) {
        if (previous_own != none && stack.cut_after(previous_own) == *k)
          assembler.append_own_link(previous_own);
        else if (!first)
          trouble = assembler.append_link_to_own(*k, new_group);
        assembler.append_own_level(*k);
        previous_own = *k;
        turned = stack.levels[*k].turned();
      } else {
        if (alternating && !first) turned = !turned;
        trouble = assembler.append_new_level(std::get<ShapedLevel>(level), turned, new_group, first);
        previous_own = none;
      }
      if (!trouble.empty()) return tl::unexpected(std::move(trouble));
      first = false;
    }
  return assembler.take();
}

} // namespace restep::finish
