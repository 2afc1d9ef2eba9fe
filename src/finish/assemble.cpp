#include "finish/assemble.hpp"

#include "finish/link.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

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
  Assembler(std::span<Step const> operation, Stack const& stack, Offsets const& offsets)
      : operation_(operation)
      , stack_(stack)
      , offsets_(offsets) {}

  // Links within a level (between islands) and from one level to the next.
  std::string learn_links(double tolerance) {
    std::size_t const contours = stack_.levels.front().contours.size();
    for (std::size_t c = 0; c < contours; ++c) {
      bool const last = c + 1 == contours;
      std::vector<LinkSample> samples;
      for (std::size_t k = 0; k + (last ? 1 : 0) < stack_.levels.size(); ++k) {
        Contour const& from = stack_.levels[k].contours[c];
        Level const& next_level = stack_.levels[last ? k + 1 : k];
        Contour const& to = next_level.contours[last ? 0 : c + 1];
        samples.push_back({{from.end(), from.z, offsets_.d[k]},
                           {to.start(), to.z, offsets_.d[last ? k + 1 : k]},
                           motions_between(operation_, from.last_step(), to.first_step())});
      }
      auto law = LinkLaw::fit(std::move(samples), tolerance);
      if (!law) return law.error();
      links_.push_back(std::move(*law));
    }
    return {};
  }

  // Level k of the program with everything between its first and last contour.
  void append_own_level(std::size_t k) {
    Level const& level = stack_.levels[k];
    append_own(level.contours.front().first_step(), level.contours.back().last_step());
    at_ = {level.contours.back().end(), level.z, offsets_.d[k]};
  }

  void append_own_link(std::size_t k) {
    append_own(stack_.levels[k].contours.back().last_step() + 1,
               stack_.levels[k + 1].contours.front().first_step() - 1);
  }

  std::string append_link(std::size_t c, Station const& next) {
    auto steps = links_[c].make(at_, next);
    if (!steps) return steps.error();
    append(*steps);
    return {};
  }

  std::string append_new_level(ShapedLevel const& shaped) {
    double const z = shaped.tip.y;
    Level const& model =
        *std::min_element(stack_.levels.begin(), stack_.levels.end(), [&](Level const& a, Level const& b) {
          return std::abs(a.z - z) < std::abs(b.z - z);
        });
    for (std::size_t c = 0; c < model.contours.size(); ++c) {
      Station const start{shaped.points[c].front(), z, shaped.tip.x};
      std::string const trouble = append_link(c == 0 ? model.contours.size() - 1 : c - 1, start);
      if (!trouble.empty()) return trouble;
      append_contour(model.contours[c], shaped, c);
      at_ = {shaped.points[c].back(), z, shaped.tip.x};
    }
    return {};
  }

  Station own_start(std::size_t k) const {
    Level const& level = stack_.levels[k];
    return {level.contours.front().start(), level.z, offsets_.d[k]};
  }

  std::vector<Step> take() { return std::move(out_); }

private:
  void append(std::vector<Step> const& steps) { out_.insert(out_.end(), steps.begin(), steps.end()); }

  void append_own(std::size_t first, std::size_t last) {
    for (std::size_t i = first; i <= last; ++i)
      out_.push_back(operation_[i]);
  }

  void append_contour(Contour const& model, ShapedLevel const& shaped, std::size_t c) {
    for (std::size_t j = 0; j < model.segments.size(); ++j) {
      Step step = operation_[model.segments[j].step];
      motion::Motion& m = *motion::motion_of(step);
      m.from = geometry::at_height(shaped.points[c][j], shaped.tip.y);
      m.to = geometry::at_height(shaped.points[c][j + 1], shaped.tip.y);
      if (motion::is_arc(m)) m.centre = geometry::at_height(shaped.centres[c][j], shaped.tip.y);
      step.generated = true;
      step.touched = true;
      out_.push_back(step);
    }
  }

  std::span<Step const> operation_;
  Stack const& stack_;
  Offsets const& offsets_;
  std::vector<LinkLaw> links_; // [c]: from contour c to the next one; the last to the next level's first
  Station at_;
  std::vector<Step> out_;
};

} // namespace

tl::expected<std::vector<Step>, std::string> assemble(std::span<Step const> operation, Stack const& stack,
                                                      Offsets const& offsets,
                                                      std::vector<PlannedLevel> const& levels,
                                                      double resolution) {
  Assembler assembler(operation, stack, offsets);
  if (std::string trouble = assembler.learn_links(std::max(2 * resolution, 0.0005)); !trouble.empty())
    return tl::unexpected(std::move(trouble));
  std::optional<std::size_t> previous_own;
  for (PlannedLevel const& level : levels) {
    std::string trouble;
    if (std::size_t const* k = std::get_if<std::size_t>(&level)) {
      if (previous_own && *previous_own + 1 == *k)
        assembler.append_own_link(*previous_own);
      else if (&level != &levels.front())
        trouble = assembler.append_link(stack.levels.front().contours.size() - 1, assembler.own_start(*k));
      assembler.append_own_level(*k);
      previous_own = *k;
    } else {
      trouble = assembler.append_new_level(std::get<ShapedLevel>(level));
      previous_own.reset();
    }
    if (!trouble.empty()) return tl::unexpected(std::move(trouble));
  }
  return assembler.take();
}

} // namespace restep::finish
