#pragma once

#include "grammar/ast.hpp"

#include <boost/fusion/include/adapt_struct.hpp>

BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::NamedParameter, name, span)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Parameter, index, span)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Operation, op, operand)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Expression, first, rest)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Call, function, argument)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::ArcTangent, y, x)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Word, letter, value)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Setting, target, value)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Conditional, condition, consequence)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Goto, target, span)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::While, condition, number)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::Loop, part, number)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::OWord, label, keyword, arguments)
BOOST_FUSION_ADAPT_STRUCT(restep::grammar::ast::LineNumber, value, span)
