#include "interpret/parameters.hpp"

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
  numbered_[index] = value;
}

void Parameters::set(std::string_view name, double value) {
  named_[std::string(name)] = value;
}

void Parameters::forget(int index) {
  numbered_[index] = std::nullopt;
}

} // namespace restep::interpret
