global using AwesomeAssertions;
global using Xunit;
