#include "transform/pass_request.hpp"

#include <algorithm>

namespace restep::transform {

namespace {

using motion::Step;

bool means(PassRule const& rule, std::span<Step const> pass, std::size_t index, int tool) {
  std::uint32_t const first = pass.front().place.line;
  std::uint32_t const last = pass.back().place.line;
  return (rule.passes.empty() ||
          std::find(rule.passes.begin(), rule.passes.end(), index) != rule.passes.end()) &&
         (rule.tool < 0 || rule.tool == tool) &&
         (rule.last_line == 0 || (first >= rule.first_line && last <= rule.last_line));
}

} // namespace

bool among_those_asked_for(PassTarget const& target, std::size_t index) {
  return target.only.empty() || std::find(target.only.begin(), target.only.end(), index) != target.only.end();
}

bool has_inverse_time_feeds(std::span<Step const> pass) {
  return std::any_of(pass.begin(), pass.end(), [](Step const& step) {
    motion::Motion const* m = motion::motion_of(step);
    return m != nullptr && motion::is_cutting(*m) && m->feed_mode == motion::FeedMode::inverse_time;
  });
}

std::string asked_by(finish::PassRequest const& request) {
  if (!request.said_by.empty()) return request.said_by;
  return request.finish || request.limits.max_stepdown != 0 ? finish::asked_of_all : "";
}

bool asks_of_passes(PassTarget const& target) {
  return target.finish || target.limits.max_stepdown != 0 || target.limits.min_stepdown != 0 ||
         target.extend || !target.only.empty() || !target.rules.empty();
}

bool asks_for_finish(PassTarget const& target) {
  return target.finish || std::any_of(target.rules.begin(), target.rules.end(),
                                      [](PassRule const& rule) { return rule.finish.has_value(); });
}

bool may_move_ends(PassTarget const& target) {
  return target.extend || asks_for_finish(target) ||
         std::any_of(target.rules.begin(), target.rules.end(),
                     [](PassRule const& rule) { return rule.extend.value_or(false); });
}

finish::PassRequest request_for(PassTarget const& target, std::span<Step const> pass, std::size_t index,
                                int tool) {
  finish::PassRequest request;
  if (!among_those_asked_for(target, index) || has_inverse_time_feeds(pass)) return request;
  request.named = !target.only.empty();
  request.finish = target.finish;
  request.limits = target.limits;
  request.extend = target.extend;
  for (PassRule const& rule : target.rules) {
    if (!means(rule, pass, index, tool)) continue;
    request.named = true;
    request.keep = rule.keep;
    request.said_by = rule.said_by;
    request.finish = rule.keep ? std::nullopt : rule.finish ? rule.finish : target.finish;
    request.limits = rule.keep ? cutter::StepLimits{} : target.limits;
    request.extend = !rule.keep && rule.extend.value_or(target.extend);
    if (!rule.keep && rule.limits.max_stepdown != 0) request.limits.max_stepdown = rule.limits.max_stepdown;
    if (!rule.keep && rule.limits.min_stepdown != 0) request.limits.min_stepdown = rule.limits.min_stepdown;
  }
  return request;
}

} // namespace restep::transform
