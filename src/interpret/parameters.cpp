#include "interpret/parameters.hpp"

#include <charconv>

namespace restep::interpret {

Parameters::Parameters(Unset unset)
    : unset_(unset) {
  numbered_.emplace(active_system, 1.0);
}

std::optional<double> Parameters::get(int index) const {
  if (auto const found = numbered_.find(index); found != numbered_.end()) return found->second;
  bool const the_programs_own = index >= first && index < first_machine_owned;
  return unset_ == Unset::zero && the_programs_own ? std::optional(0.0) : std::nullopt;
}

std::optional<double> Parameters::get(std::string_view name) const {
  auto const found = named_.find(std::string(name));
  return found == named_.end() ? std::nullopt : std::optional(found->second);
}

void Parameters::set(int index, double value) {
  if (callers_.empty() || index > callers_.back().last_local) ++lasting_settings_;
  numbered_[index] = value;
  if (!lost_.empty()) lost_.erase(std::to_string(index));
}

void Parameters::set(std::string_view name, double value) {
  if (callers_.empty() || name.starts_with('_')) ++lasting_settings_;
  named_[std::string(name)] = value;
  if (!lost_.empty()) lost_.erase(std::string(name));
}

void Parameters::forget(int index) {
  numbered_[index] = std::nullopt;
}

void Parameters::forget(std::string_view name) {
  named_.erase(std::string(name));
}

void Parameters::lose(std::string const& parameter) {
  lost_.insert(parameter);
  int index = 0;
  auto const [end, error] = std::from_chars(parameter.data(), parameter.data() + parameter.size(), index);
  if (error == std::errc{} && end == parameter.data() + parameter.size())
    forget(index);
  else
    forget(parameter);
}

void Parameters::forget_probe_results() {
  for (int index = probe_results[0]; index <= probe_results[1]; ++index)
    if (auto const found = numbered_.find(index); found != numbered_.end()) found->second = std::nullopt;
}

void Parameters::forget_all() {
  numbered_.clear();
  named_.clear();
  unset_ = Unset::unknown;
}

void Parameters::clear_locals(int last_local) {
  for (int index = first; index <= last_local; ++index)
    numbered_[index] = std::nullopt;
  std::erase_if(named_, [](auto const& entry) { return !entry.first.starts_with('_'); });
}

void Parameters::enter(int last_local) {
  Scope scope{last_local, {}, {}};
  for (int index = first; index <= last_local; ++index)
    if (auto const found = numbered_.find(index); found != numbered_.end()) scope.numbered.insert(*found);
  for (auto const& entry : named_)
    if (!entry.first.starts_with('_')) scope.named.insert(entry);
  callers_.push_back(std::move(scope));
  clear_locals(last_local);
}

void Parameters::leave() {
  Scope scope = std::move(callers_.back());
  callers_.pop_back();
  clear_locals(scope.last_local);
  for (int index = first; index <= scope.last_local; ++index)
    numbered_.erase(index);
  numbered_.merge(scope.numbered);
  named_.merge(scope.named);
}

} // namespace restep::interpret
