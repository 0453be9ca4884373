global using AwesomeAssertions;
global using RootCellar.Shared;
global using Xunit;
