//! The one test binary: end-to-end tests of the program, published reference checks, properties.

mod addresses;
mod bench;
mod catalogue;
mod claims;
mod collection_pages;
mod command_line;
mod commonmark;
mod comparing;
mod correcting;
mod corrections;
mod curves;
mod emulsions;
mod entries;
mod loose;
mod manual;
mod pages;
mod printing;
mod properties;
mod records;
mod reference;
mod registry;
mod soap;
mod solutions;
mod support;
mod trials;
mod watching;
